"""Sheets of workbooks become tables, and what is none to open is refused in words."""

import io
import random
import re
import struct
import zipfile
from datetime import date, datetime, time

import openpyxl  # type: ignore[import-untyped]
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spc.errors import UnreadableFile
from spc.intake.profiles.profile import FileForm
from spc.intake.readers import SURPLUS, read
from spc.workbooks.packing import OLD
from tests.intake.workbook_files import (
    changed,
    ods,
    ods_row,
    record,
    repacked,
    saved,
    stream,
    with_rows,
    xls,
    xls_error,
    xlsx,
)

BOOK = FileForm(kind="workbook")
LOCKED_PART = "EncryptedPackage".encode("utf-16-le")


def refused(content: bytes, form: FileForm = BOOK) -> UnreadableFile:
    with pytest.raises(UnreadableFile) as caught:
        read(content, form)
    assert caught.value.remedy
    return caught.value


# The same table in every kind.

TABLE: list[list[str | float | None]] = [["Lot", "Heat [SHU]"], ["L-1", 41000.0], ["L-2", 7.25]]
KINDS = {
    "xlsx": xlsx(*TABLE),
    "ods": ods("".join(ods_row(*row) for row in TABLE)),
    "xls": xls(
        stream(
            {
                (row, column): cell
                for row, cells in enumerate(TABLE)
                for column, cell in enumerate(cells)
                if cell is not None
            }
        )
    ),
}


@pytest.mark.parametrize("kind", KINDS)
def test_a_sheet_reads_the_same_in_every_kind_of_workbook(kind):
    table = read(KINDS[kind], BOOK)

    assert table.headers == ("Lot", "Heat [SHU]")
    assert table.cells.to_numpy().tolist() == [["L-1", "41000", ""], ["L-2", "7.25", ""]]
    assert table.cells.index.tolist() == [2, 3]
    assert (table.cells.dtypes == "str").all()


@pytest.mark.parametrize("kind", KINDS)
def test_a_workbook_cut_or_damaged_anywhere_is_read_or_refused_and_never_worse(kind):
    good = KINDS[kind]
    chance = random.Random(20261120)  # noqa: S311 - repeatable, not secret
    for _ in range(120):
        damaged = bytearray(good)
        for _ in range(chance.choice([1, 8])):
            damaged[chance.randrange(len(damaged))] = chance.randrange(256)
        cut = bytes(damaged[: chance.randrange(len(good) // 2, len(good) + 1)])
        for content in (bytes(damaged), cut):
            try:
                table = read(content, BOOK)
            except UnreadableFile:
                continue
            assert SURPLUS in table.cells


def test_two_header_rows_with_merged_cells_are_joined():
    content = xlsx(
        ["Contract laboratory"],
        ["Lot", "Sample", None, "Capsaicinoids", None],
        [None, "Ref", "Analysed", "Capsaicin", "Total"],
        ["L-1", "R-1", "2026-03-02", 100, "<LOQ"],
        merged=["A1:E1", "A2:A3", "B2:C2", "D2:E2"],
    )

    table = read(content, FileForm(kind="workbook", skip_rows=1, header_rows=2))

    assert table.headers == (
        "Lot",
        "Sample | Ref",
        "Sample | Analysed",
        "Capsaicinoids | Capsaicin",
        "Capsaicinoids | Total",
    )
    assert table.cells.index.tolist() == [4]


def test_rows_carry_their_number_in_the_sheet():
    assert read(xlsx(["Lot"], ["L-1"], [None], ["L-2"]), BOOK).cells.index.tolist() == [2, 4]


def test_a_table_that_begins_lower_and_further_right_keeps_its_row_numbers():
    content = with_rows(
        '<row r="5"><c r="C5" t="str"><v>Lot</v></c></row>'
        '<row r="7"><c r="C7" t="str"><v>L-1</v></c></row>'
    )

    table = read(content, FileForm(kind="workbook", skip_rows=2))

    assert table.cells.iloc[:, 2].to_dict() == {7: "L-1"}


def test_the_sheet_of_the_profile_is_read_and_the_first_if_it_names_none():
    content = ods(ods_row("Lot"), ods_row("Charge") + ods_row("L-1"))

    assert read(content, BOOK).headers == ("Lot",)
    assert read(content, FileForm(kind="workbook", sheet="Sheet2")).headers == ("Charge",)


def test_a_sheet_that_is_not_there_is_named_with_those_that_are():
    problem = refused(xlsx(["Lot"]), FileForm(kind="workbook", sheet="Summary"))

    assert problem.what == "there is no sheet 'Summary'; it has Results."


def test_a_workbook_with_an_empty_sheet_is_refused_for_its_missing_header():
    assert refused(xlsx()).what == "it has no header."


def test_typed_cells_are_read_as_a_person_would_have_typed_them():
    cells = [12, 12.5, True, datetime(2026, 3, 2, 10, 30), date(2026, 3, 2), time(8, 15), "007"]  # noqa: DTZ001
    headers = ["n", "x", "flag", "moment", "day", "time", "text"]

    table = read(xlsx(headers, [*cells, 1e20], sheet="Any"), BOOK)

    assert table.cells.iloc[0].tolist() == [
        *("12", "12.5", "TRUE", "2026-03-02 10:30:00", "2026-03-02", "08:15:00", "007"),
        "1e+20",
    ]


def test_a_typed_number_keeps_its_size_where_the_point_parts_thousands():
    form = FileForm(kind="workbook", decimal=",", thousands=".")

    assert read(xlsx(["x"], [1.125]), form).cells["x"].tolist() == ["1,125"]


@pytest.mark.parametrize(("number", "style"), [(-5, "yyyy-mm-dd"), (1e10, "yyyy-mm-dd hh:mm")])
def test_a_time_that_no_calendar_has_is_its_number_and_known_to_be_shown_otherwise(number, style):
    def in_style(sheet):
        sheet["B2"].number_format = style

    table = read(changed(in_style, ["Lot", "Time"], ["L-1", number]), BOOK)

    assert table.cells["Time"].tolist() == [str(number).replace(".0", "")]
    assert table.marks.unlike == {(2, 1)}


def test_a_formula_is_the_value_that_was_stored_and_nothing_is_evaluated():
    content = with_rows(
        '<row r="1"><c r="A1" t="str"><v>Lot</v></c><c r="B1" t="str"><v>Sum</v></c></row>'
        '<row r="2"><c r="A2" t="str"><f>"L"&amp;1</f><v>L-1</v></c>'
        '<c r="B2"><f>WEBSERVICE("http://localhost/")</f><v>5.5</v></c></row>'
        '<row r="3"><c r="A3" t="str"><f>""</f><v></v></c><c r="B3"><v>6</v></c></row>'
    )

    assert read(content, BOOK).cells.to_numpy().tolist() == [["L-1", "5.5", ""], ["", "6", ""]]


def test_a_link_is_its_text():
    book = openpyxl.Workbook()
    book.active.append(["Lot"])
    book.active.append(["L-1"])
    book.active["A2"].hyperlink = "http://localhost/nowhere"

    assert read(saved(book), BOOK).cells["Lot"].tolist() == ["L-1"]


def test_an_error_in_a_cell_of_xlsx_is_shown_and_not_taken_as_nothing_measured():
    content = with_rows(
        '<row r="1"><c r="A1" t="str"><v>Lot</v></c><c r="B1" t="str"><v>Heat</v></c></row>'
        '<row r="2"><c r="A2" t="str"><v>L-1</v></c><c r="B2" t="e"><f>1/0</f><v>#DIV/0!</v></c>'
        '</row><row r="4"><c r="B4" t="e"><v>#N/A</v></c></row>'
    )

    assert read(content, BOOK).cells["Heat"].to_dict() == {2: "#DIV/0!", 4: "#N/A"}


def test_a_formula_that_was_never_calculated_is_shown_and_not_taken_as_nothing_measured():
    written = read(xlsx(["Lot", "Heat"], ["L-1", "=2*B7"]), BOOK)
    shared = with_rows(
        '<row r="1"><c r="A1" t="str"><v>Lot</v></c></row>'
        '<row r="2"><c r="A2"><f t="shared" si="0"/></c></row>'
    )

    assert written.cells["Heat"].tolist() == ["=2*B7"]
    assert read(shared, BOOK).cells["Lot"].tolist() == ["="]


def test_errors_and_formulas_of_ods_are_shown():
    error = (
        '<table:table-cell table:formula="of:=1/0" office:value-type="string"'
        ' office:string-value="" calcext:value-type="error"><text:p>#DIV/0!</text:p>'
        "</table:table-cell>"
    )
    formula = '<table:table-cell table:formula="of:=[.A1]*2"/>'
    value = '<table:table-cell table:formula="of:=1+1" office:value-type="float" office:value="2"/>'
    row = f"<table:table-row>{error}{formula}{value}</table:table-row>"

    table = read(ods(ods_row("a", "b", "c") + row), BOOK)

    assert table.cells.iloc[0].tolist() == ["#DIV/0!", "=[.A1]*2", "2", ""]


def test_errors_of_xls_are_shown():
    formula = struct.pack("<HHH", 2, 0, 0) + bytes([2, 0, 0x2A, 0, 0, 0, 0xFF, 0xFF]) + bytes(8)
    content = xls(stream({(0, 0): "Heat"}, xls_error(1, 0, 0x07) + record(0x0006, formula)))

    assert read(content, BOOK).cells["Heat"].to_dict() == {2: "#DIV/0!", 3: "#N/A"}


def test_rows_and_cells_of_ods_that_stand_for_several_are_all_there():
    content = ods(ods_row("Lot") + ods_row("L-1", alike=3) + ods_row(None, alike=2) + ods_row("x"))

    assert read(content, BOOK).cells["Lot"].to_dict() == {2: "L-1", 3: "L-1", 4: "L-1", 7: "x"}


def test_the_filler_below_a_sheet_of_ods_is_no_row():
    filler = (
        '<table:table-row table:number-rows-repeated="1048574">'
        '<table:table-cell table:number-columns-repeated="16384"/></table:table-row>'
    )

    assert read(ods(ods_row("Lot") + ods_row("L-1") + filler), BOOK).cells.index.tolist() == [2]


@pytest.mark.parametrize("small", [False, True])
def test_a_workbook_of_old_is_put_together_from_sectors_wherever_they_lie(small):
    cells = {(0, 0): "Lot", (0, 1): "Wert µ", **{(row, 0): f"L-{row}" for row in range(1, 90)}}

    table = read(xls(stream(cells), small=small), BOOK)

    assert table.headers == ("Lot", "Wert µ")
    assert table.cells["Lot"].tolist() == [f"L-{row}" for row in range(1, 90)]


def test_the_sectors_of_a_large_workbook_of_old_are_all_found():
    cells: dict[tuple[int, int], str | float] = {(0, 0): "n"}
    cells |= {(row, 0): float(row) for row in range(1, 30_000)}

    assert read(xls(stream(cells)), BOOK).cells["n"].tolist() == [str(n) for n in range(1, 30_000)]


CELL = st.one_of(
    st.none(),
    st.integers(-(10**9), 10**9).map(float),
    st.floats(-1e9, 1e9, allow_nan=False).map(lambda value: round(value, 3)),
    st.text(st.characters(categories=["L", "N", "P", "S"], max_codepoint=0xFFF), max_size=6),
)


def shown(cell: str | float | None) -> str:
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() else repr(cell)
    return cell or ""


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(["xlsx", "ods", "xls"]), st.lists(st.lists(CELL, max_size=3), max_size=6))
def test_every_row_of_a_workbook_is_a_row_of_the_table(kind, written):
    # A text that a writer would take for a formula is the writer's affair, and not tested here.
    cells = [["a", "b", "c"], *([f"'{c}" if isinstance(c, str) else c for c in r] for r in written)]
    content = {
        "xlsx": lambda: xlsx(*cells),
        "ods": lambda: ods("".join(ods_row(*row) for row in cells)),
        "xls": lambda: xls(
            stream(
                {
                    (at, column): cell
                    for at, row in enumerate(cells)
                    for column, cell in enumerate(row)
                    if cell is not None
                }
            )
        ),
    }[kind]()

    table = read(content, BOOK)

    expected = {
        number: [*map(shown, row), *[""] * (4 - len(row))]
        for number, row in enumerate(cells[1:], start=2)
        if any(map(shown, row))
    }
    assert dict(zip(table.cells.index, table.cells.to_numpy().tolist(), strict=True)) == expected


# What is no workbook, and what is none to open.


@pytest.mark.parametrize(
    "content",
    [b"Lot,Reading\nL-1,5\n", OLD[:4] + bytes(600), OLD + b"\xff" * 600],
)
def test_what_is_no_workbook_is_refused_as_one(content):
    problem = refused(content)

    assert "not a workbook" in problem.what
    assert ".xlsx" in problem.remedy


def test_a_zip_archive_of_something_else_is_refused():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("letter.txt", "hello")

    assert "not a workbook" in refused(out.getvalue()).what


def test_a_binary_workbook_is_refused_by_its_name():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("xl/workbook.bin", "hello")

    assert ".xlsb" in refused(out.getvalue()).what


def test_two_parts_of_one_name_are_refused_for_every_program_would_take_another():
    out = io.BytesIO(KINDS["xlsx"])
    with pytest.warns(UserWarning, match="Duplicate"), zipfile.ZipFile(out, "a") as archive:
        archive.writestr("xl/worksheets/sheet1.xml", "<x/>")

    assert "damaged" in refused(out.getvalue()).what


def test_a_workbook_of_two_kinds_at_once_is_refused():
    def both(content: bytes) -> bytes:
        out = io.BytesIO(content)
        with zipfile.ZipFile(out, "a") as archive:
            archive.writestr("content.xml", "<x/>")
        return out.getvalue()

    assert "not a workbook" in refused(both(KINDS["xlsx"])).what


def test_a_workbook_that_declares_a_monstrous_size_is_not_opened():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", b"0" * 100_000)
    # The declared size stands in the central directory, where the reader looks it up.
    bomb = out.getvalue().replace((100_000).to_bytes(4, "little"), (2**31).to_bytes(4, "little"))

    assert refused(bomb).what == "it unpacks to an unreasonable size."


def test_a_workbook_that_packs_better_than_any_sheet_is_not_opened():
    content = with_rows("<row/>" * 2_000_000)

    assert re.search(r"it unpacks to \d{3} times its size", refused(content).what)


def test_a_part_that_is_larger_than_it_declares_is_not_read_on():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", b"0" * 100_000)
    understated = out.getvalue().replace((100_000).to_bytes(4, "little"), bytes([9, 0, 0, 0]))

    assert "damaged" in refused(understated).what


def test_a_part_packed_in_a_rare_way_that_holds_nothing_is_refused():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_LZMA) as archive:
        archive.writestr("xl/workbook.xml", "hello")

    assert "damaged" in refused(out.getvalue()).what


@pytest.mark.parametrize("place", ["XFD1048576", "XFD2000"])
def test_a_stray_entry_at_the_end_of_a_sheet_is_named_and_not_followed(place):
    book = openpyxl.Workbook()
    book.active.append(["Lot", "Reading"])
    book.active[place] = " "
    out = io.BytesIO()
    book.save(out)

    problem = refused(out.getvalue())

    assert "spreads over" in problem.what
    assert "stray entry" in problem.remedy


@pytest.mark.parametrize(
    "markup",
    [
        "<row r='1'><c r = 'xfd1048576'><v>1</v></c></row>",
        '<row r="1"><c r="AAAAAAA1"><v>1</v></c></row>',
        '<row r="1"><c r="A99999999999"><v>1</v></c></row>',
        '<row r="1048576"><c><v>1</v></c></row><row r="1"><c r="XFD1"><v>1</v></c></row>',
        f'<row r="1">{"<c><v>1</v></c>" * 5000}</row><row r="99999"><c><v>1</v></c></row>',
    ],
)
def test_no_way_of_writing_a_place_is_followed_beyond_a_sheet(markup):
    assert re.search("spreads over|damaged", refused(with_rows(markup)).what)


@pytest.mark.parametrize(
    "rows",
    [
        '<table:table-row table:number-rows-repeated="999999"><table:table-cell '
        'table:number-columns-repeated="999999" office:value-type="float" office:value="1"/>'
        "</table:table-row>",
        '<table:table-row table:number-rows-repeated="999999"><table:table-cell '
        'table:number-columns-repeated="999999" calcext:value-type="error" '
        'office:value-type="string"><text:p>#N/A</text:p></table:table-cell></table:table-row>',
        '<table:table-row table:number-rows-repeated="999999"><table:table-cell/></table:table-row>'
        '<table:table-row><table:table-cell table:number-columns-repeated="9999"/>'
        '<table:table-cell office:value-type="float" office:value="1"/></table:table-row>',
    ],
)
def test_a_cell_of_ods_that_stands_for_a_million_is_not_opened(rows):
    assert "spreads over" in refused(ods(rows)).what


def test_a_stray_entry_of_xls_is_not_followed():
    assert "spreads over" in refused(xls(stream({(0, 0): "Lot", (65535, 255): 1.0}))).what


def test_the_dimensions_that_a_sheet_of_xls_claims_are_not_made_room_for():
    claimed = record(0x0200, struct.pack("<IIHHH", 0, 2**32 - 1, 0, 2**16 - 1, 0))

    cells: dict[tuple[int, int], str | float | tuple[str | float, int]]
    cells = {(0, 0): "Lot", (1, 0): "L-1"}

    assert read(xls(stream(cells, first=claimed)), BOOK).headers == ("Lot",)
    assert "damaged" in refused(xls(stream(cells, claimed))).what


@pytest.mark.parametrize(
    "workbook",
    [
        record(0x00FC, struct.pack("<II", 0, 2**30)),
        record(0x0085, struct.pack("<I", 2**30)),
        record(0x0085, struct.pack("<I", 0)) * 300,
        struct.pack("<HH", 0x0809, 9_999),
    ],
)
def test_records_of_xls_that_claim_what_they_do_not_hold_are_refused(workbook):
    assert "damaged" in refused(xls(workbook.ljust(4096, b"\0"))).what


@pytest.mark.parametrize(
    ("place", "value"), [(30, 7), (48, 10**6), (512 + 4 * 3, 3), (1024 + 128, 0x41)]
)
def test_a_compound_file_with_broken_chains_is_refused(place, value):
    broken = bytearray(KINDS["xls"])
    struct.pack_into("<I", broken, place, value)

    assert "damaged" in refused(bytes(broken)).what


def test_a_table_of_sectors_that_goes_on_for_ever_is_not_followed():
    broken = bytearray(KINDS["xls"])
    # The table goes on in its own first sector, which says in its last place that it does again.
    struct.pack_into("<I", broken, 68, 0)
    struct.pack_into("<I", broken, 512 + 4 * 127, 0)

    assert read(bytes(broken), BOOK).cells.equals(read(KINDS["xls"], BOOK).cells)


def test_a_locked_workbook_is_called_locked():
    begin = record(0x0809, struct.pack("<HHHHII", 0x0600, 5, 0x0DBB, 0x07CC, 0, 6))
    old = xls(begin + record(0x002F, bytes(54)))
    new = xls(stream({})).replace("Workbook".encode("utf-16-le"), LOCKED_PART[:16])
    free = repacked(KINDS["ods"], "manifest.xml", lambda text: text + b"<!-- encryption-data -->")

    for content in (old, new + LOCKED_PART, free):
        assert refused(content).what == "it is locked with a password."


@pytest.mark.parametrize("kind", ["xlsx", "ods"])
def test_markup_that_is_none_is_refused(kind):
    part = {"xlsx": "xl/workbook.xml", "ods": "content.xml"}[kind]

    assert "damaged" in refused(repacked(KINDS[kind], part, lambda _: b"<a><b></a>")).what
