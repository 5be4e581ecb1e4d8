"""What is done for long files only, done to short ones: the outcome is the same."""

import pytest

from spc.errors import IntakeError, UnknownLayout, UnreadableFile
from spc.intake import read
from spc.store.file import appending
from spc.store.files import layouts
from spc.workbooks.packing import OLD
from tests.intake.workbook_files import xlsx
from tests.staff import ME

ROW = "{lot},{bag},{replicate},2026-03-04 10:00:00,0.1,10,1,{reading},µmol/L"


def rows(count, bag="1"):
    return [ROW.format(lot="L-1", bag=bag, replicate=n, reading=5 + n) for n in range(count)]


@pytest.fixture
def lengths(monkeypatch):
    """The sizes of what is read."""
    seen = []

    def watched(content, form):
        seen.append(len(content))
        return read(content, form)

    monkeypatch.setattr(layouts, "read", watched)
    return seen


def test_a_long_file_is_read_as_a_whole_by_one_layout_only(
    small_store, source_file, monkeypatch, lengths
):
    monkeypatch.setattr(layouts, "_HEAD", 300)
    content = source_file("sensor", *rows(40))

    receipt = small_store.receive_bytes("s.csv", content, by=ME)

    assert (receipt.profile, receipt.stored) == ("sensor", 40)
    assert lengths.count(len(content)) == 1
    assert all(length <= 300 for length in lengths if length != len(content))


@pytest.mark.parametrize("head", range(130, 260, 13))
def test_a_head_that_ends_within_a_cell_is_no_hindrance(
    small_store, source_file, monkeypatch, head
):
    monkeypatch.setattr(layouts, "_HEAD", head)
    content = source_file("sensor", *rows(2, bag='"a bag\nwith a\nlong name"'))

    receipt = small_store.receive_bytes("s.csv", content, by=ME)

    assert (receipt.profile, receipt.rows) == ("sensor", 2)


def test_a_long_file_whose_header_nobody_has_is_told_what_it_lacks(
    small_store, source_file, monkeypatch
):
    monkeypatch.setattr(layouts, "_HEAD", 200)
    content = source_file("sensor", *rows(20)).replace(b"Reading,Unit", b"Value,Unit")

    with pytest.raises(UnknownLayout, match=r"nearest, 'sensor', lacks 'Reading'"):
        small_store.receive_bytes("s.csv", content, by=ME)


def test_a_long_file_that_is_damaged_further_down_is_not_taken_in(
    small_store, source_file, monkeypatch
):
    monkeypatch.setattr(layouts, "_HEAD", 200)
    content = source_file("sensor", *rows(20)) + b'L-1,"never closed\n'

    before = small_store.receipts()

    with pytest.raises(UnreadableFile, match=r"is that of 'sensor', but line 22 is damaged"):
        small_store.receive_bytes("s.csv", content, by=ME)

    assert small_store.receipts().equals(before)


@pytest.mark.parametrize(
    ("row", "problem"),
    [
        (b'L-1,"never closed\n', "line 7 is damaged"),
        (b"L-1,\xe9\n", "bytes are not utf-8 text"),
        (b"L-1,\x00\n", "not a text file"),
        (b"L-1" + b"," * 2_000 + b"\n", "row 7 has 2,001 cells"),
    ],
)
def test_a_damaged_file_is_told_its_damage_and_not_what_another_source_would_need(
    small_store, source_file, row, problem
):
    content = source_file("sensor", *rows(5)) + row

    with pytest.raises(UnreadableFile, match=f"that of 'sensor', but .*{problem}"):
        small_store.receive_bytes("s.csv", content, by=ME)


def test_a_damaged_file_is_told_only_its_damage_by_the_profile_that_was_asked_for(
    small_store, source_file
):
    content = source_file("sensor", *rows(5)) + b'L-1,"never closed\n'

    with pytest.raises(UnreadableFile, match=r"^s.csv: line 7 is damaged"):
        small_store.receive_bytes("s.csv", content, "sensor", by=ME)


@pytest.mark.parametrize(
    ("name", "content", "problem"),
    [
        ("s.xlsx", b"PK\x03\x04" + b"\xd8" * 200, "it is not a workbook, or a damaged"),
        ("s.parquet", b"PAR1" + b"\xd8" * 200, "it is no Parquet file, or a damaged"),
        ("s.zip", b"PK\x05\x06" + b"\0" * 18, "it is an archive, but no workbook"),
    ],
)
def test_a_damaged_file_is_told_what_the_profiles_of_its_kind_say(
    small_store, small_sources, name, content, problem
):
    for kind in ("workbook", "parquet"):
        text = small_sources["sensor.toml"].replace('comment = "#"', f'kind = "{kind}"')
        text = text.replace('profile = "sensor"', f'profile = "sensor {kind}"')
        small_store.receive_bytes(f"{kind}.toml", text.encode(), by=ME)

    with pytest.raises(UnreadableFile, match=rf"^{name}: {problem}"):
        small_store.receive_bytes(name, content, by=ME)


def test_a_workbook_says_what_is_wrong_with_it_even_where_no_profile_reads_workbooks(small_store):
    good = xlsx(["Lot", "Bag"], ["L-1", 1])
    locked = OLD + bytes(504) + "EncryptedPackage".encode("utf-16-le") + bytes(512)

    for content, problem in (
        (locked, "locked with a password"),
        (good[: len(good) // 2], "or a damaged one"),
        (good, "a workbook, and no source profile reads one"),
    ):
        with pytest.raises(IntakeError, match=rf"^s.xlsx: it is .*{problem}"):
            small_store.receive_bytes("s.xlsx", content, by=ME)
    with pytest.raises(IntakeError, match="a workbook, and source profile 'sensor' reads none"):
        small_store.receive_bytes("s.xlsx", good, "sensor", by=ME)


def test_a_file_that_is_damaged_in_its_header_is_not_said_to_have_any(small_store):
    with pytest.raises((UnreadableFile, UnknownLayout), match=r"^(?!.*that of)"):
        small_store.receive_bytes("s.csv", b'Lot,"Bag\nL-1,1\n', by=ME)


def test_rows_handed_over_in_many_batches_are_the_rows_of_the_file(
    small_store, source_file, monkeypatch
):
    monkeypatch.setattr(appending, "_ROWS", 3)
    content = source_file("sensor", *rows(20))

    receipt = small_store.receive_bytes("s.csv", content, by=ME)

    found = small_store.results("L-1").query("receipt == @receipt.receipt").set_index("source_row")
    assert found.sort_index()["reading"].tolist() == [5.0 + n for n in range(20)]
    assert found["result"].tolist() == [f"{receipt.receipt}-{row}-1" for row in found.index]


def test_results_of_one_row_are_named_by_their_place_in_it(small_store, source_file):
    content = source_file(
        "laboratory", "L-1,2026-03-04,1000,500,0.7,absent", "L-1,2026-03-05,,,0.9,"
    )

    receipt = small_store.receive_bytes("l.csv", content, by=ME).receipt

    named = small_store.results("L-1").set_index("result")["characteristic"]
    mine = named[named.index.str.startswith(receipt)].sort_index()
    assert dict(mine) == {
        f"{receipt}-2-1": "heat",
        f"{receipt}-2-2": "aflatoxin B1",
        f"{receipt}-2-3": "Salmonella",
        f"{receipt}-3-1": "aflatoxin B1",
    }
