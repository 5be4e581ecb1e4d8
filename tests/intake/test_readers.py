import csv
import io
import random
import zipfile
from datetime import date, datetime, time
from typing import Any

import openpyxl  # type: ignore[import-untyped]
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spc.errors import UnreadableFile
from spc.intake import readers
from spc.intake.profile import FileForm
from spc.intake.readers import SURPLUS, read

PLAIN = FileForm()
BOOK = FileForm(kind="workbook")


def workbook(*rows: list[Any], sheet: str = "Results", merged: str = "") -> bytes:
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    page.title = sheet
    for row in rows:
        page.append(row)
    if merged:
        page.merge_cells(merged)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def refused(content: bytes, form: FileForm) -> UnreadableFile:
    with pytest.raises(UnreadableFile) as caught:
        read(content, form)
    assert caught.value.remedy
    return caught.value


def test_a_byte_order_mark_is_no_part_of_the_first_header():
    table = read("\ufeffLot,Reading\nL-1,5\n".encode(), PLAIN)

    assert table.headers == ("Lot", "Reading")


def test_the_encoding_of_the_profile_is_used():
    form = FileForm(encoding="cp1252", delimiter=";")

    table = read("Gerät;Grenze\nFW 2;≤ 5 € –".replace("≤", "<").encode("cp1252"), form)

    assert table.headers == ("Gerät", "Grenze")
    assert table.cells.loc[2, "Grenze"] == "< 5 € –"


def test_two_header_rows_with_merged_cells_are_joined():
    content = workbook(
        ["Contract laboratory"],
        ["Sample", None, "Capsaicinoids", None],
        ["Lot", "Analysed", "Capsaicin", "Total"],
        ["L-1", "2026-03-02", 100, "<LOQ"],
        merged="C2:D2",
    )

    table = read(content, FileForm(kind="workbook", skip_rows=1, header_rows=2))

    assert table.headers == (
        "Sample | Lot",
        "Sample | Analysed",
        "Capsaicinoids | Capsaicin",
        "Capsaicinoids | Total",
    )
    assert table.cells.index.tolist() == [4]


def test_a_first_group_without_a_name_leaves_its_columns_alone():
    content = b",Quality\nLot,Colour\nL-1,90\n"

    assert read(content, FileForm(header_rows=2)).headers == ("Lot", "Quality | Colour")


def test_preamble_blank_lines_and_comments_are_no_rows():
    content = b"Device 2\nSouth gate\nLot,Reading\n\nL-1,5\n , \n# end of export, 1 row\n"

    table = read(content, FileForm(skip_rows=2, comment="#"))

    assert table.cells["Lot"].tolist() == ["L-1"]


def test_rows_carry_their_number_in_the_file():
    content = b'Lot,Remark\n\nL-1,"two\nlines"\nL-2,plain\r\nL-3,last'

    table = read(content, PLAIN)

    assert dict(zip(table.cells["Lot"], table.cells.index, strict=True)) == {
        "L-1": 3,
        "L-2": 5,
        "L-3": 6,
    }


def test_workbook_rows_carry_their_number_in_the_sheet():
    table = read(workbook(["Lot"], ["L-1"], [None], ["L-2"]), BOOK)

    assert table.cells.index.tolist() == [2, 4]


def test_ragged_rows_are_filled_and_surplus_cells_are_kept_apart():
    table = read(b"Lot,Reading\nL-1\nL-2,5,6,,7\n", PLAIN)

    assert table.cells.loc[2, "Reading"] == ""
    assert table.cells.loc[2, SURPLUS] == ""
    assert table.cells.loc[3, SURPLUS] == "6 7"


def test_headers_that_repeat_are_numbered_and_never_collide():
    table = read(b"Lot,Lot,Lot (2),Lot,,\nA,B,C,D\n", PLAIN)

    assert table.headers == ("Lot", "Lot (2)", "Lot (2) (2)", "Lot (3)")
    assert table.cells.iloc[0].tolist() == ["A", "B", "C", "D", ""]


def test_a_file_of_only_a_header_has_no_rows():
    assert read(b"Lot,Reading\n", PLAIN).cells.empty


def test_an_unclosed_quote_is_refused_with_its_line():
    problem = refused(b'Lot,Remark\nL-1,fine\nL-2,"open\nL-3,swallowed\n', PLAIN)

    assert "line 4 is damaged" in problem.what
    assert "quotes" in problem.remedy


@pytest.mark.parametrize("content", [b"", b" \r\n\t\n"])
def test_an_empty_file_is_refused(content):
    assert refused(content, PLAIN).what == "the file is empty."


def test_a_file_without_a_header_is_refused():
    assert refused(b"# nothing\n", FileForm(comment="#")).what == "it has no header."


def test_a_text_file_with_nul_is_refused():
    assert "not a text file" in refused(b"Lot,Reading\nL-1,5\0\n", PLAIN).what


def test_binary_bytes_are_refused():
    assert "not utf-8 text" in refused(bytes(range(128, 256)), PLAIN).what


def test_another_encoding_than_the_profile_s_is_refused():
    problem = refused("Gerät,Lot\nFW,L-1\n".encode("cp1252"), PLAIN)

    assert "encoding" in problem.remedy


def test_an_encoding_that_is_none_is_refused():
    assert "no-such" in refused(b"Lot\n", FileForm(encoding="no-such")).what


def test_a_file_beyond_reason_is_refused(monkeypatch):
    monkeypatch.setattr(readers, "LARGEST_MB", 0.00001)

    assert "larger than" in refused(b"Lot,Reading\n" * 10, PLAIN).what


def test_a_workbook_that_declares_a_monstrous_size_is_not_opened():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", b"0" * 100_000)
    # The declared size stands in the central directory, where the reader looks it up.
    bomb = out.getvalue().replace((100_000).to_bytes(4, "little"), (2**31).to_bytes(4, "little"))

    assert refused(bomb, BOOK).what == "it unpacks to an unreasonable size."


@pytest.mark.parametrize("content", [b"Lot,Reading\nL-1,5\n", b"\xd0\xcf\x11\xe0" + b"\0" * 600])
def test_what_is_no_workbook_is_refused_as_one(content):
    problem = refused(content, BOOK)

    assert "not a workbook" in problem.what
    assert ".xlsx" in problem.remedy


def test_a_zip_archive_of_something_else_is_refused():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("letter.txt", "hello")

    assert "not a workbook" in refused(out.getvalue(), BOOK).what


def test_a_workbook_damaged_anywhere_is_read_or_refused_and_never_worse():
    good = workbook(["Lot", "Reading"], *(["L-1", n] for n in range(20)))
    chance = random.Random(20261120)  # noqa: S311 - repeatable, not secret
    for _ in range(150):
        damaged = bytearray(good)
        for _ in range(8):
            damaged[chance.randrange(len(damaged))] = chance.randrange(256)
        cut = bytes(damaged[: chance.randrange(len(good) // 2, len(good) + 1)])
        try:
            table = read(cut, BOOK)
        except UnreadableFile:
            continue
        assert SURPLUS in table.cells


@pytest.mark.parametrize("place", ["XFD1048576", "XFD2000"])
def test_a_stray_entry_at_the_end_of_a_sheet_is_named_and_not_followed(place):
    book = openpyxl.Workbook()
    book.active.append(["Lot", "Reading"])
    book.active[place] = " "
    out = io.BytesIO()
    book.save(out)

    problem = refused(out.getvalue(), BOOK)

    assert "spreads over" in problem.what
    assert "stray entry" in problem.remedy


def test_a_stray_entry_nearby_does_no_harm():
    rows: list[list[Any]] = [["Lot"], *([None] for _ in range(3000)), [None, None, "x"]]

    assert read(workbook(["Lot", "Reading", "z"], *rows), BOOK).cells.index.tolist() == [2, 3003]


def test_a_sheet_that_is_not_there_is_named_with_those_that_are():
    problem = refused(workbook(["Lot"]), FileForm(kind="workbook", sheet="Summary"))

    assert problem.what == "there is no sheet 'Summary'; it has Results."


def test_typed_cells_are_read_as_a_person_would_have_typed_them():
    cells = [12, 12.5, True, datetime(2026, 3, 2, 10, 30), date(2026, 3, 2), time(8, 15), "007"]  # noqa: DTZ001
    headers = ["n", "x", "flag", "moment", "day", "time", "text"]

    table = read(workbook(headers, [*cells, 1e20], sheet="Any"), BOOK)

    assert table.cells.iloc[0].tolist()[:7] == [
        "12",
        "12.5",
        "True",
        "2026-03-02 10:30:00",
        "2026-03-02",
        "08:15:00",
        "007",
    ]
    assert table.cells.iloc[0][SURPLUS] == "1e+20"


def test_a_typed_number_keeps_its_size_where_the_point_parts_thousands():
    form = FileForm(kind="workbook", decimal=",", thousands=".")

    assert read(workbook(["x"], [1.125]), form).cells["x"].tolist() == ["1,125"]


CELLS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=8)


@settings(max_examples=80, deadline=None)
@given(st.lists(st.lists(CELLS, min_size=1, max_size=4), max_size=5))
def test_cells_that_were_written_are_the_cells_that_are_read(rows):
    out = io.StringIO(newline="")
    csv.writer(out).writerows([["a", "b", "c", "d"], *rows])

    table = read(out.getvalue().encode(), PLAIN)

    stripped = [[cell.strip() for cell in row] for row in rows]
    expected = [[*row, *[""] * (5 - len(row))] for row in stripped if any(row)]
    assert table.cells.to_numpy().tolist() == expected


def test_a_workbook_with_an_empty_sheet_is_refused_for_its_missing_header():
    assert refused(workbook(), BOOK).what == "it has no header."
