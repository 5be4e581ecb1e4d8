import pytest

from spc.errors import (
    BadCatalogue,
    BadProfile,
    IntakeError,
    InvalidInput,
    StoreError,
    UnknownLayout,
    UnknownName,
    UnreadableFile,
)
from spc.store import Store
from tests.approved import in_force
from tests.staff import ME

ROW = "{lot},1,{replicate},2026-03-04 10:00:00,0.1,10,1,{reading},µmol/L"


def row(lot="L-1", replicate=1, reading="5"):
    return ROW.format(lot=lot, replicate=replicate, reading=reading)


@pytest.fixture
def receive(small_store, source_file):
    """Take in rows of one of the small store's sources."""

    def taken(source, *rows, name="", profile=None):
        content = source_file(source, *rows)
        return small_store.receive_bytes(name or f"{source}.csv", content, profile, by=ME)

    return taken


def test_every_receipt_of_the_demo_adds_up(demo_store, demo_files):
    receipts = demo_store.receipts()

    assert len(receipts) == len(demo_files)
    assert (receipts["rows"] == receipts["stored"] + receipts["held"] + receipts["known"]).all()
    assert receipts["still_held"].sum() == len(demo_store.held()) == receipts["held"].sum()
    # What was read of control samples is kept like any result, but is none of a lot.
    of_lots = receipts[~receipts["name"].str.contains("_control|_comparison")]
    assert of_lots["results"].sum() == len(demo_store.results())


def test_the_demo_is_what_its_readme_says(demo_store):
    lots = demo_store.lots()

    # Two rows of the register are held, so two of the 399 deliveries have no lot.
    assert len(lots) == 399 - 2
    assert len(demo_store.lots(waiting=True)) == 14 + 3
    assert lots["supplier"].nunique() == 9
    assert lots["material"].nunique() == 6


def test_a_file_received_twice_changes_nothing_at_all(small_store, receive, contents):
    receive("sensor", row(), row(replicate=2, reading="n.d."))
    before = contents(small_store)

    again = receive("sensor", row(), row(replicate=2, reading="n.d."), name="copy of it.csv")

    assert contents(small_store) == before
    assert again.again
    assert (again.rows, again.stored, again.held, again.known) == (2, 0, 0, 2)
    assert again.name == "sensor.csv"


def test_a_growing_export_brings_only_its_new_rows(small_store, receive):
    receive("sensor", row(), row(replicate=2))

    grown = receive("sensor", row(), row(replicate=2), row(replicate=3))

    assert (grown.rows, grown.stored, grown.held, grown.known) == (3, 1, 0, 2)
    assert len(small_store.results("L-1")) == 1 + 3


def test_a_changed_value_is_held_and_the_first_stands(small_store, receive):
    receive("sensor", row(reading="5"))

    changed = receive("sensor", row(reading="6"))

    held = small_store.held(changed.receipt)
    assert held["code"].tolist() == ["changed-value"]
    assert "the first stands" in held["remedy"].iloc[0]
    own = small_store.results("L-1").query("method == 'rapid sensor'")
    assert own["reading_text"].tolist() == ["5"]


def test_an_exact_repeat_inside_a_file_is_known(receive):
    receipt = receive("sensor", row(), row())

    assert (receipt.stored, receipt.known) == (1, 1)


def test_what_only_a_held_row_said_is_not_taken_for_known(small_store, receive):
    receive("laboratory", "L-1,2026-03-04,1000,500,,")

    # The first row contradicts what is stored; the colour of the toxin it brings is new.
    receipt = receive(
        "laboratory", "L-1,2026-03-04,1100,500,0.7,absent", "L-1,2026-03-04,,,0.7,absent"
    )

    assert (receipt.stored, receipt.held, receipt.known) == (1, 1, 0)
    assert "aflatoxin B1" in set(small_store.results("L-1")["characteristic"])


def test_a_lot_described_otherwise_is_held(small_store, receive):
    receipt = receive(
        "register", "L-1,cayenne powder,South Mill,2026-03-02,2025,40,25,41000,2026-02-20"
    )

    assert receipt.held == 1
    assert small_store.lot("L-1").supplier == "North Mill"


def test_a_lot_and_its_first_results_may_come_in_one_row(small_store, receive):
    receipt = receive(
        "register", "L-3,cayenne powder,North Mill,2026-03-05,2025,40,25,39000,2026-02-20"
    )

    assert receipt.created_lots == ("L-3",)
    assert receipt.results == 1
    assert small_store.lot("L-3").packages == 40


def test_a_lot_without_optional_facts_is_taken_in(small_store, receive):
    receive("register", "L-3,cayenne powder,North Mill,2026-03-05,,,,39000,2026-02-20")

    lot = small_store.lot("L-3")

    assert lot.harvest_year is None
    assert lot.package_kg is None


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("empty.csv", b""),
        ("picture.csv", b"\x89PNG\r\n\x1a\n\0\0"),
        ("letter.csv", b"Dear Sirs,\nplease find enclosed\n"),
        ("broken.csv", b'Lot,Bag\n"L-1,1\n'),
        ("odd.toml", b"colour = 'red'\n"),
        ("latin.toml", "# für\n".encode("latin-1")),
        ("bad.toml", b'profile = "x"\n'),
        ("worse.toml", b'[[supplier]]\nname = "x"\n'),
    ],
)
def test_a_file_that_cannot_be_read_leaves_one_audit_entry_and_nothing_else(
    small_store, contents, name, content
):
    before = contents(small_store)

    with pytest.raises(IntakeError) as caught:
        small_store.receive_bytes(name, content, by=ME)

    after = contents(small_store)
    assert caught.value.remedy
    assert {**after, "audit": []} == {**before, "audit": []}
    assert len(after["audit"]) == len(before["audit"]) + 1
    entry = small_store.audit(most=1).iloc[0]
    assert (entry["action"], entry["subject"]) == ("refused a file", name)
    assert small_store.verify().ok


def test_a_file_no_layout_can_read_says_so_in_one_sentence(small_store):
    with pytest.raises(UnreadableFile, match="no source profile can read it"):
        small_store.receive_bytes("x.csv", b"\xff\xfe\x81\0", by=ME)


def test_a_file_that_no_profile_fits_is_pointed_to_the_proposal(small_store):
    with pytest.raises(UnknownLayout, match=r"on Intake or run `lotheat propose 'new lab.csv'`"):
        small_store.receive_bytes("new lab.csv", b"x,y\n1,2\n", by=ME)


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("broken.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 4000, "a damaged one"),
        ("cut.xlsx", b"PK\x03\x04" + b"0" * 300, "a damaged one"),
        ("letter.pdf", b"%PDF-1.7", "a PDF, the picture of a table"),
        ("empty.csv", b"", "the file is empty"),
    ],
)
def test_what_no_profile_could_read_is_told_so_whichever_profiles_there_are(
    small_store, tmp_path, name, content, said
):
    with Store.open(tmp_path / "new.db") as new:
        for store in (small_store, new):
            with pytest.raises(UnreadableFile, match=f"{name}.*{said}"):
                store.receive_bytes(name, content, by=ME)


def test_a_deep_or_large_profile_is_refused_like_any_file(small_store):
    for text in ("profile = 1\na = " + "[" * 100_000, "profile = 1\n" + "#" * 2_100_000):
        with pytest.raises(IntakeError, match=r"deep|larger"):
            small_store.receive_bytes("odd.toml", text.encode(), by=ME)


def test_a_file_that_nearly_fits_is_told_what_it_lacks(small_store):
    with pytest.raises(UnknownLayout, match="'sensor', lacks 'Unit'"):
        small_store.receive_bytes(
            "x.csv",
            b"Lot,Bag,No,Measured,Portion g,Buffer mL,Cell,Reading\n",
            by=ME,
        )


def test_a_layout_is_only_compared_with_the_header_it_finds_itself(small_store):
    lean = 'profile = "lean"\n[file]\n[columns]\nlot = "Lot"\n[decisions]\nby = "By"\n'
    rich = lean.replace("lean", "rich").replace("[columns]", "skip_rows = 1\n[columns]")
    rich = rich.replace('by = "By"', 'by = "By"\nrole = "Role"\nreason = "Why"')
    for name, text in (("lean.toml", lean), ("rich.toml", rich)):
        small_store.receive_bytes(name, text.encode(), by=ME)

    # Below its first line the file has all that the lean layout needs, but that one skips no line.
    with pytest.raises(UnknownLayout, match="'rich', lacks 'Why'"):
        small_store.receive_bytes("x.csv", b"South gate\nLot,By,Role\nL-1,M,Q\n", by=ME)


def test_a_store_without_profiles_asks_for_one(tmp_path):
    with (
        Store.open(tmp_path / "new.db") as store,
        pytest.raises(UnknownLayout, match="no source profile yet"),
    ):
        store.receive_bytes("x.csv", b"Lot\nL-1\n", by=ME)


def test_a_path_that_is_not_there_is_told_by_its_name(small_store, tmp_path):
    with pytest.raises(IntakeError, match=r"nowhere\.csv: No such file.*Check the path"):
        small_store.receive(tmp_path / "nowhere.csv", by=ME)


def test_a_profile_can_be_named(receive):
    assert receive("sensor", row(), profile="sensor").profile == "sensor"


def test_a_profile_that_does_not_exist_is_answered_with_the_nearest(receive):
    with pytest.raises(UnknownName, match="Did you mean sensor"):
        receive("sensor", row(), profile="senser")


def test_a_profile_that_does_not_fit_is_not_forced_on_a_file(receive):
    with pytest.raises(UnknownLayout, match="lacks"):
        receive("sensor", row(), profile="decisions")


def test_a_preview_says_what_would_happen_and_does_nothing(small_store, source_file, contents):
    before = contents(small_store)
    content = source_file("sensor", row(), row(lot="L-9"))

    receipt, fate = small_store.preview("sensor.csv", content, by=ME)

    assert (receipt.rows, receipt.stored, receipt.held) == (2, 1, 1)
    assert fate.held["code"].tolist() == ["unknown-lot"]
    assert contents(small_store) == before


def test_checking_again_takes_in_rows_whose_lot_was_announced_later(small_store, receive):
    early = receive("sensor", row(lot="L-3"), row(lot="L-3", replicate=2), row(lot="L-4"))
    receive("register", "L-3,cayenne powder,North Mill,2026-03-02,2025,40,25,39000,2026-02-20")

    checked = small_store.intake.check_again(early.receipt, by=ME)

    assert (checked.rows, checked.stored, checked.held, checked.known) == (3, 2, 1, 0)
    assert small_store.held(early.receipt)["lot"].tolist() == ["L-4"]
    assert len(small_store.results("L-3")) == 1 + 2
    assert small_store.verify().ok


def test_checking_again_a_second_time_brings_nothing(small_store, receive):
    early = receive("sensor", row(lot="L-3"))
    receive("register", "L-3,cayenne powder,North Mill,2026-03-02,2025,40,25,39000,2026-02-20")
    small_store.intake.check_again(early.receipt, by=ME)

    again = small_store.intake.check_again(early.receipt, by=ME)

    assert (again.rows, again.stored) == (0, 0)
    assert len(small_store.results("L-3")) == 2


def test_checking_again_heeds_a_spelling_that_was_added_to_the_profile(
    small_store, receive, small_sources
):
    early = receive("register", "L-3,cayenne powder,N. Mill,2026-03-05,2025,40,25,39000,2026-02-20")
    mended = small_sources["register.toml"].replace('"NORTH MILL"', '"N. Mill"')
    mended = mended.replace('profile = "register"', 'profile = "register"\nversion = 2')
    small_store.receive_bytes("register.toml", mended.encode(), by=ME)

    checked = small_store.intake.check_again(early.receipt, by=ME)

    assert checked.created_lots == ("L-3",)
    assert small_store.held().empty
    assert '"version":2' in small_store.audit(early.receipt, most=1)["detail"].iloc[0]


def test_checking_again_stays_with_the_old_profile_where_the_new_one_fits_no_more(
    small_store, receive, small_sources
):
    early = receive("sensor", row(lot="L-3"))
    receive("register", "L-3,cayenne powder,North Mill,2026-03-02,2025,40,25,39000,2026-02-20")
    newer = small_sources["sensor.toml"].replace('"Reading"', '"Value"')
    newer = newer.replace('profile = "sensor"', 'profile = "sensor"\nversion = 2')
    small_store.receive_bytes("sensor.toml", newer.encode(), by=ME)

    assert small_store.intake.check_again(early.receipt, by=ME).stored == 1


def test_a_lot_whose_announcement_waits_is_told_with_where_it_waits(small_store, receive):
    announced = receive("register", "L-3,cayenne powder,North Mill,2026-02-30,2025,40,25,39000,")
    waiting = receive("sensor", row(lot="L-3"), row(lot="L-33"))

    remedies = small_store.held(waiting.receipt)["remedy"].tolist()

    assert announced.held == 1
    assert remedies[0].startswith(f"A row of {announced.name} names it and waits itself")
    assert "Receive the file that announces the lot" in remedies[1]


def test_a_supplier_s_new_spelling_frees_the_lot_and_then_everything_that_waited_for_it(
    small_store, receive, small_sources
):
    receive("sensor", row(lot="L-3"))
    receive("register", "L-3,cayenne powder,N. Mill,2026-03-05,2025,40,25,39000,2026-02-20")
    still = receive("sensor", row(lot="L-9"))
    mended = small_sources["register.toml"].replace('"NORTH MILL"', '"N. Mill"')
    mended = mended.replace('profile = "register"', 'profile = "register"\nversion = 2')
    small_store.receive_bytes("register.toml", mended.encode(), by=ME)

    taken = small_store.intake.check_all_again(by=ME)

    assert [one.stored for one in taken] == [1, 1]
    assert small_store.held()["receipt"].tolist() == [still.receipt]
    assert small_store.intake.check_all_again(by=ME) == []
    assert small_store.verify().ok


def test_checking_again_needs_a_file_of_rows(small_store):
    catalogue = small_store.receipts().query("kind == 'catalogue'")["receipt"].iloc[0]

    with pytest.raises(UnknownName, match="no receipt 'abc'"):
        small_store.intake.check_again("abc", by=ME)
    with pytest.raises(UnknownName):
        small_store.intake.check_again(catalogue, by=ME)


def test_a_dismissed_row_waits_no_more_and_stays_on_record(small_store, receive):
    receipt = receive("sensor", row(lot="L-9"), row(lot="L-9", replicate=2))

    small_store.intake.dismiss(receipt.receipt, [2, 3], by=ME, reason="a trial run")

    assert small_store.held().empty
    assert small_store.receipts().set_index("receipt").loc[receipt.receipt, "held"] == 2
    assert small_store.verify().ok


@pytest.mark.parametrize("reason", ["", " "])
def test_a_dismissal_needs_a_reason(small_store, receive, reason):
    receipt = receive("sensor", row(lot="L-9"))

    with pytest.raises(InvalidInput, match="no reason is given"):
        small_store.intake.dismiss(receipt.receipt, [2], by=ME, reason=reason)


def test_only_a_row_that_waits_can_be_dismissed(small_store, receive):
    receipt = receive("sensor", row(lot="L-9"), row())
    small_store.intake.dismiss(receipt.receipt, [2], by=ME, reason="a trial run")

    for waits_not in (2, 3, 99):
        with pytest.raises(UnknownName, match="no held row"):
            small_store.intake.dismiss(receipt.receipt, [waits_not], by=ME, reason="a trial")


def test_received_bytes_come_back_as_they_were(small_store, receive, source_file):
    receipt = receive("sensor", row())

    assert small_store.receipt_bytes(receipt.receipt) == (
        "sensor.csv",
        source_file("sensor", row()),
    )
    with pytest.raises(UnknownName, match="no receipt"):
        small_store.receipt_bytes("nothing")


def test_a_catalogue_received_twice_is_known(small_store, small_sources):
    text = small_sources["catalogue.toml"] + "\n# sent again with a remark\n"

    receipt = small_store.receive_bytes("again.toml", text.encode(), by=ME)

    assert receipt.kind == "catalogue"
    assert (receipt.stored, receipt.known) == (0, receipt.rows)


def test_a_changed_method_becomes_a_version_that_results_remember(
    small_store, receive, small_sources
):
    receive("sensor", row())
    better = small_sources["catalogue.toml"].replace(
        "standard_uncertainty = 0.05", "standard_uncertainty = 0.04"
    )
    small_store.receive_bytes("better.toml", better.encode(), by=ME)
    in_force(small_store)
    receive("sensor", row(replicate=2))

    own = small_store.results("L-1").query("method == 'rapid sensor'")

    assert own["method_version"].tolist() == [1, 2]
    method = small_store.catalogue().method("rapid sensor", "heat")
    assert method is not None
    assert method.standard_uncertainty == 0.04
    assert small_store.verify().ok


def test_a_changed_specification_needs_a_new_version(small_store, small_sources, contents):
    stricter = small_sources["catalogue.toml"].replace("upper = 60000.0", "upper = 55000.0")
    before = contents(small_store)

    with pytest.raises(BadCatalogue, match="version 1 is in the store with other content"):
        small_store.receive_bytes("stricter.toml", stricter.encode(), by=ME)

    assert {**contents(small_store), "audit": []} == {**before, "audit": []}


def test_a_new_specification_version_is_added_as_a_proposal(small_store, small_sources):
    newer = small_sources["catalogue.toml"].replace("version = 1", "version = 2")

    receipt = small_store.receive_bytes("newer.toml", newer.encode(), by=ME)

    assert receipt.stored == 1
    catalogue = small_store.catalogue()
    assert [one.version for one in catalogue.specifications] == [1]
    assert [one.version for one in catalogue.proposed] == [2]


def test_a_changed_supplier_keeps_its_old_facts(small_store, small_sources):
    moved = small_sources["catalogue.toml"].replace("Southern Plain", "Northern Plain")

    with pytest.raises(BadCatalogue, match="supplier 'South Mill' is in the store with other"):
        small_store.receive_bytes("moved.toml", moved.encode(), by=ME)


def test_a_changed_profile_needs_a_new_version(small_store, small_sources):
    changed = small_sources["sensor.toml"].replace('"Bag"', '"Sack"')

    with pytest.raises(BadProfile, match="version 1 is in the store with another text"):
        small_store.receive_bytes("sensor.toml", changed.encode(), by=ME)


def test_a_profile_received_under_another_name_is_known(small_store, small_sources, contents):
    before = contents(small_store)

    receipt = small_store.receive_bytes(
        "renamed.toml", small_sources["sensor.toml"].encode(), by=ME
    )

    assert receipt.again
    assert contents(small_store) == before


def test_a_value_can_be_followed_back_to_its_row(small_store, receive):
    receive("sensor", row(reading="12"))
    result = small_store.results("L-1").query("method == 'rapid sensor'")["result"].iloc[0]

    one, chain, cells = small_store.calculation(result)

    assert one["file"] == "sensor.csv"
    assert cells["Reading"] == "12"
    assert float(chain.value[0]) == one["value_low"]
    with pytest.raises(UnknownName, match="no result 'none'"):
        small_store.calculation("none")


def test_a_lot_that_is_not_there_is_answered_with_the_nearest(demo_store):
    with pytest.raises(UnknownName, match="Did you mean R26-0139"):
        demo_store.lot("R26-0139x")


def test_the_day_is_the_real_one_unless_the_catalogue_freezes_it(small_store, demo_store):
    assert demo_store.today().isoformat() == "2026-11-20"
    assert small_store.today().year >= 2026


def test_a_write_that_was_not_done_is_not_taken_for_done(small_store, monkeypatch):
    monkeypatch.setattr(small_store._connection, "write", lambda _work, *, token: token and None)

    with pytest.raises(StoreError, match="the write was not done"):
        small_store.intake.check_again("x", by=ME)
