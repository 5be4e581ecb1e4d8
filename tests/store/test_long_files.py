"""What is done for long files only, done to short ones: the outcome is the same."""

import pytest

from spc.errors import UnknownLayout, UnreadableFile
from spc.intake import read
from spc.store import appending, layouts

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

    receipt = small_store.receive_bytes("s.csv", content, by="Ines Valbo")

    assert (receipt.profile, receipt.stored) == ("sensor", 40)
    assert lengths.count(len(content)) == 1
    assert all(length <= 300 for length in lengths if length != len(content))


@pytest.mark.parametrize("head", range(130, 260, 13))
def test_a_head_that_ends_within_a_cell_is_no_hindrance(
    small_store, source_file, monkeypatch, head
):
    monkeypatch.setattr(layouts, "_HEAD", head)
    content = source_file("sensor", *rows(2, bag='"a bag\nwith a\nlong name"'))

    receipt = small_store.receive_bytes("s.csv", content, by="Ines Valbo")

    assert (receipt.profile, receipt.stored) == ("sensor", 2)


def test_a_long_file_whose_header_nobody_has_is_told_what_it_lacks(
    small_store, source_file, monkeypatch
):
    monkeypatch.setattr(layouts, "_HEAD", 200)
    content = source_file("sensor", *rows(20)).replace(b"Reading,Unit", b"Value,Unit")

    with pytest.raises(UnknownLayout, match=r"nearest, 'sensor', lacks 'Reading'"):
        small_store.receive_bytes("s.csv", content, by="Ines Valbo")


def test_a_long_file_that_is_damaged_further_down_is_not_taken_in(
    small_store, source_file, monkeypatch
):
    monkeypatch.setattr(layouts, "_HEAD", 200)
    content = source_file("sensor", *rows(20)) + b'L-1,"never closed\n'

    before = small_store.receipts()

    with pytest.raises((UnreadableFile, UnknownLayout)):
        small_store.receive_bytes("s.csv", content, by="Ines Valbo")

    assert small_store.receipts().equals(before)


def test_rows_handed_over_in_many_batches_are_the_rows_of_the_file(
    small_store, source_file, monkeypatch
):
    monkeypatch.setattr(appending, "_ROWS", 3)
    content = source_file("sensor", *rows(20))

    receipt = small_store.receive_bytes("s.csv", content, by="Ines Valbo")

    found = small_store.results("L-1").query("receipt == @receipt.receipt").set_index("source_row")
    assert found.sort_index()["reading"].tolist() == [5.0 + n for n in range(20)]
    assert found["result"].tolist() == [f"{receipt.receipt}-{row}-1" for row in found.index]


def test_results_of_one_row_are_named_by_their_place_in_it(small_store, source_file):
    content = source_file(
        "laboratory", "L-1,2026-03-04,1000,500,0.7,absent", "L-1,2026-03-05,,,0.9,"
    )

    receipt = small_store.receive_bytes("l.csv", content, by="Ines Valbo").receipt

    named = small_store.results("L-1").set_index("result")["characteristic"]
    mine = named[named.index.str.startswith(receipt)].sort_index()
    assert dict(mine) == {
        f"{receipt}-2-1": "heat",
        f"{receipt}-2-2": "aflatoxin B1",
        f"{receipt}-2-3": "Salmonella",
        f"{receipt}-3-1": "aflatoxin B1",
    }
