import json

import pytest
from openpyxl.styles import Font  # type: ignore[import-untyped]

from spc.errors import InvalidInput, UnknownName
from tests.intake.workbook_files import changed
from tests.staff import ME, MY_NAME

HEADER = "Lot,Bag,No,Measured,Portion g,Buffer mL,Cell,Reading,Unit"
TEN_TIMES_TOO_MUCH = "portion and buffer as in the notebook of 4 March"


def row(bag, *, portion="1.000", buffer="1.0", lot="L-1", reading="17.7"):
    return f"{lot},{bag},1,2026-03-04 10:0{bag}:00,{portion},{buffer},1,{reading},µmol/L"


@pytest.fixture
def slipped(small_store, source_file):
    """A file of which three rows are held for their dilution; two lots wait for them."""
    content = source_file(
        "sensor", row(1), row(2), row(3, lot="L-2"), row(4, portion="0.1", buffer="10")
    )
    small_store.receipt = small_store.receive_bytes("sensor.csv", content, by=ME).receipt
    return small_store


def mend(store, rows=(2, 3, 4), *, reason=TEN_TIMES_TOO_MUCH, **cells):
    cells = {name.replace("_", " "): text for name, text in cells.items()}
    return store.intake.mend(
        store.receipt,
        rows,
        cells or {"Portion g": "0.1", "Buffer mL": "10"},
        by=ME,
        reason=reason,
    )


def test_all_of_a_file_is_mended_at_once_and_its_lots_are_judged(slipped):
    assert "heat" in slipped.verdict("L-2").sentence

    taken = mend(slipped)

    assert (taken.rows, taken.stored, taken.held, taken.known) == (3, 3, 0, 0)
    assert slipped.held().empty
    readings = slipped.results("L-2").query("method == 'rapid sensor'")
    assert readings["extract_mass_g"].tolist() == [0.1]
    # 17.7 µmol/L in 10 mL from 0.1 g at 16 SHU per mg/kg of capsaicin, 305.41 g/mol.
    assert readings["value_low"].iloc[0] == pytest.approx(
        17.7e-6 * 305.41 * 1e3 * 1e2 * 16, rel=1e-3
    )
    assert slipped.verify().ok


def test_the_bytes_and_the_held_row_stay_as_they_came(slipped, contents):
    before = contents(slipped)

    mend(slipped)

    after = contents(slipped)
    assert after["receipt"] == before["receipt"]
    assert after["held_row"] == before["held_row"]
    one = slipped.results("L-2").query("method == 'rapid sensor'")["result"].iloc[0]
    _, _, cells = slipped.calculation(one)
    assert (cells["Portion g"], cells["Buffer mL"]) == ("1.000", "1.0")
    told = slipped.intake.mends(slipped.receipt).query("source_row == 4")
    assert dict(zip(told["header"], told["text"], strict=True)) == {
        "Portion g": "0.1",
        "Buffer mL": "10",
    }
    assert set(told["mended_by"]) == {MY_NAME}
    assert set(told["reason"]) == {TEN_TIMES_TOO_MUCH}


def test_a_mended_file_can_be_withdrawn_though_it_brought_nothing_at_first(slipped):
    mend(slipped, rows=(4,))

    files = slipped.intake.files().set_index("receipt")

    assert files.loc[slipped.receipt, "results"] == 2
    assert slipped.intake.would_change("file", slipped.receipt).results == 2


def test_a_mend_is_one_entry_of_the_audit_chain(slipped):
    before = len(slipped.audit())

    mend(slipped)

    entries = slipped.audit()
    assert len(entries) == before + 1
    assert entries.iloc[0][["action", "actor", "subject"]].tolist() == [
        "mended held rows",
        MY_NAME,
        slipped.receipt,
    ]
    detail = json.loads(entries.iloc[0]["detail"])
    assert detail["cells"] == {"Portion g": "0.1", "Buffer mL": "10"}
    assert (detail["rows"], detail["settled"]) == ([2, 3, 4], 3)


def test_every_row_is_still_stored_held_or_known_when_some_are_mended(slipped):
    taken = mend(slipped, rows=(3,))

    (told,) = slipped.receipts().query("receipt == @slipped.receipt").to_dict("records")
    assert (taken.rows, taken.stored) == (1, 1)
    assert told["rows"] == told["stored"] + told["held"] + told["known"]
    assert told["still_held"] == 2
    assert slipped.held()["source_row"].tolist() == [2, 4]


def test_a_row_that_its_mend_does_not_cure_waits_on_and_the_last_mend_counts(slipped):
    looked_at, fate = slipped.intake.preview_mend(slipped.receipt, [2], {"Portion g": "ten"})
    assert looked_at.held == 1
    assert "'ten' is not a plain number" in fate.held["reason"].iloc[0]

    assert mend(slipped, rows=(2,), Portion_g="0.3").held == 1
    assert mend(slipped, rows=(2,), Portion_g="0.2", Buffer_mL=" 10 ").stored == 1

    stored = slipped.results("L-1").query("method == 'rapid sensor' and sample == '1'")
    assert stored["extract_mass_g"].tolist() == [0.2]
    assert slipped.intake.mends(slipped.receipt)["text"].tolist() == ["0.3", "10", "0.2"]
    assert slipped.verify().ok


def test_a_mend_outlasts_a_later_check_of_the_file(slipped, source_file):
    mend(slipped, rows=(2,), Lot="L-3", Portion_g="0.1", Buffer_mL="10")
    register = "L-3,cayenne powder,North Mill,2026-03-02,2025,40,25,39000,2026-02-20"
    slipped.receive_bytes("register.csv", source_file("register", register), by=ME)

    checked = slipped.intake.check_again(slipped.receipt, by=ME)

    assert (checked.rows, checked.stored, checked.held) == (3, 1, 2)
    assert "rapid sensor" in set(slipped.results("L-3")["method"])
    assert slipped.verify().ok


def test_a_look_at_a_mend_writes_nothing(slipped, contents):
    before, revision = contents(slipped), slipped.revision()

    looked_at, fate = slipped.intake.preview_mend(
        slipped.receipt, [2, 3], {"Portion g": "0.1", "Buffer mL": "10"}
    )

    assert (looked_at.rows, looked_at.stored) == (2, 2)
    assert fate.results["lot"].tolist() == ["L-1", "L-1"]
    assert contents(slipped) == before
    assert slipped.revision() == revision


@pytest.fixture
def shifted(small_store, source_file):
    """A file of which a decimal comma has made two cells of one, and a remark follows another."""
    comma = row(1, portion="0,1", buffer="10")
    remark = row(2, portion="0.1", buffer="10") + ",clumpy"
    content = source_file("sensor", comma, remark)
    small_store.receipt = small_store.receive_bytes("sensor.csv", content, by=ME).receipt
    assert small_store.held()["code"].tolist() == ["too-many-cells"] * 2
    return small_store


def test_a_row_with_too_many_cells_is_mended_and_its_own_text_stays(shifted, contents):
    before = contents(shifted)["held_row"]
    right = {"Portion g": "0.1", "Buffer mL": "10", "Cell": "1", "Reading": "17.7"}

    taken = shifted.intake.mend(
        shifted.receipt,
        [2],
        {**right, "Unit": "µmol/L", "surplus": ""},
        by=ME,
        reason="a decimal comma",
    )

    assert (taken.stored, taken.held) == (1, 0)
    (result,) = shifted.results("L-1").query("method == 'rapid sensor'").to_dict("records")
    assert (result["extract_mass_g"], result["reading"]) == (0.1, 17.7)
    assert contents(shifted)["held_row"] == before
    assert shifted.calculation(result["result"])[2]["surplus"] == "µmol/L"
    assert shifted.verify().ok


def test_cells_beyond_the_header_that_say_nothing_are_mended_to_nothing(shifted):
    kept = mend(shifted, rows=(3,), Reading="17.7")
    taken = mend(shifted, rows=(3,), surplus="")

    assert (kept.stored, kept.held) == (0, 1)
    assert (taken.stored, taken.held) == (1, 0)
    assert shifted.held()["source_row"].tolist() == [2]


def test_a_file_s_own_column_of_that_name_is_mended_as_any_other(small_store, source_file):
    content = source_file("sensor", row(1) + ",3 kg").replace(b"Unit\n", b"Unit,surplus\n")
    small_store.receipt = small_store.receive_bytes("sensor.csv", content, by=ME).receipt

    taken = small_store.intake.mend(
        small_store.receipt,
        [2],
        {"surplus": "4 kg", "Portion g": "0.1", "Buffer mL": "10"},
        by=ME,
        reason="the notebook",
    )

    assert (taken.stored, taken.held) == (1, 0)


def test_a_row_without_cells_beyond_the_header_has_none_to_mend(slipped):
    with pytest.raises(UnknownName, match="column 'surplus'"):
        mend(slipped, surplus="")


@pytest.mark.parametrize(
    ("said", "kind", "what"),
    [
        ({"reason": ""}, InvalidInput, "no reason is given"),
        ({"rows": ()}, InvalidInput, "no row or no cell"),
        ({"rows": (2, 5)}, UnknownName, "held row '5 of"),
        ({"Portion": "0.1"}, UnknownName, "Did you mean Portion g"),
    ],
)
def test_a_mend_that_names_too_little_or_what_is_not_there_is_refused(
    slipped, contents, said, kind, what
):
    before = contents(slipped)

    with pytest.raises(kind, match=what):
        mend(slipped, **said)

    assert contents(slipped) == before


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (
            "update held_row_mend set text = '0.2' where source_row = 2 and header = 'Portion g'",
            "what audit entry {} seals was changed.",
        ),
        (
            "update held_row_mend set mended_by = 'Someone Else'",
            "what audit entry {} seals was changed.",
        ),
        (
            "delete from held_row_mend where source_row = 3",
            "audit entry {} seals 6 rows, but 4 stand.",
        ),
    ],
)
def test_a_mend_changed_behind_the_stores_back_is_found(slipped, change, sentence):
    mend(slipped)
    with slipped._connection._database.cursor() as cursor:
        cursor.execute(change)

    entry = f"{slipped.revision()[1]} (mended held rows {slipped.receipt})"
    assert slipped.verify().faults == (f"mend of a held row: {sentence.format(entry)}",)


def test_a_struck_cell_that_a_person_confirmed_counts(small_store, small_sources):
    text = small_sources["sensor.toml"].replace('comment = "#"', 'kind = "workbook"')
    text = text.replace('profile = "sensor"', 'profile = "sensor book"')
    small_store.receive_bytes("book.toml", text.encode(), by=ME)
    cells = row(1, portion="0.1", buffer="10").split(",")

    def strike(sheet):
        sheet["H2"].font = Font(strike=True)
        sheet.row_dimensions[2].hidden = True

    content = changed(strike, HEADER.split(","), cells)
    small_store.receipt = small_store.receive_bytes("s.xlsx", content, by=ME).receipt
    assert small_store.held()["code"].tolist() == ["hidden-cells"]

    # The row has been looked at, but not the cell that is struck through.
    assert mend(small_store, (2,), Bag="1").stored == 0

    taken = mend(small_store, (2,), Reading="17.7")

    assert taken.stored == 1
    assert small_store.held().empty
    assert small_store.verify().ok
