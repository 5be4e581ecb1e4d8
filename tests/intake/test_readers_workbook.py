"""Workbooks: XLSX by a common writer, ODS and XLS put together here byte by byte.

The XLS and ODS files hold no more than their standards ask for; no file of a spreadsheet program
was at hand.  [MS-CFB] and [MS-XLS] for the one, OASIS OpenDocument 1.3 part 3 for the other.
"""

import io
import random
import re
import struct
import zipfile
from collections.abc import Mapping, Sequence
from datetime import date, datetime, time
from typing import Any
from xml.sax.saxutils import escape

import openpyxl  # type: ignore[import-untyped]
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spc.errors import UnreadableFile
from spc.intake.profiles.profile import FileForm
from spc.intake.readers import SURPLUS, compound, limits, read

BOOK = FileForm(kind="workbook")


def refused(content: bytes, form: FileForm = BOOK) -> UnreadableFile:
    with pytest.raises(UnreadableFile) as caught:
        read(content, form)
    assert caught.value.remedy
    return caught.value


# XLSX


def xlsx(*rows: Sequence[Any], sheet: str = "Results", merged: Sequence[str] = ()) -> bytes:
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    page.title = sheet
    for row in rows:
        page.append(list(row))
    for cells in merged:
        page.merge_cells(cells)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def repacked(content: bytes, part: str, change: Any) -> bytes:
    """The archive with one part changed."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as old,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for name in old.namelist():
            new.writestr(name, change(old.read(name)) if name.endswith(part) else old.read(name))
    return out.getvalue()


def with_rows(markup: str) -> bytes:
    """A workbook whose only sheet has these rows, in the markup of XLSX."""
    return repacked(
        xlsx(["Lot"]),
        "sheet1.xml",
        lambda sheet: re.sub(
            rb"<sheetData>.*</sheetData>",
            lambda _: f"<sheetData>{markup}</sheetData>".encode(),
            sheet,
            flags=re.DOTALL,
        ),
    )


# ODS


def ods(*sheets: str) -> bytes:
    """A workbook of sheets in the markup of ODS."""
    spaces = "".join(
        f' xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
        for name in ("office", "table", "text")
    )
    calc = ' xmlns:calcext="urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0"'
    tables = "".join(
        f'<table:table table:name="Sheet{number}">{rows}</table:table>'
        for number, rows in enumerate(sheets, start=1)
    )
    manifest = (
        '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
        '<manifest:file-entry manifest:full-path="/" manifest:media-type='
        '"application/vnd.oasis.opendocument.spreadsheet"/></manifest:manifest>'
    )
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        kind = "application/vnd.oasis.opendocument.spreadsheet"
        archive.writestr(zipfile.ZipInfo("mimetype"), kind)
        archive.writestr("META-INF/manifest.xml", manifest)
        archive.writestr(
            "content.xml",
            f"<office:document-content{spaces}{calc}><office:body><office:spreadsheet>{tables}"
            "</office:spreadsheet></office:body></office:document-content>",
        )
    return out.getvalue()


def ods_row(*cells: str | float | None, alike: int = 1) -> str:
    inner = "".join(
        "<table:table-cell/>"
        if cell is None
        else f'<table:table-cell office:value-type="string"><text:p>{escape(cell)}</text:p>'
        "</table:table-cell>"
        if isinstance(cell, str)
        else f'<table:table-cell office:value-type="float" office:value="{cell!r}"/>'
        for cell in cells
    )
    repeat = f' table:number-rows-repeated="{alike}"' if alike > 1 else ""
    return f"<table:table-row{repeat}>{inner}</table:table-row>"


# XLS


def record(kind: int, body: bytes) -> bytes:
    return struct.pack("<HH", kind, len(body)) + body


def stream(cells: Mapping[tuple[int, int], str | float], more: bytes = b"") -> bytes:
    """The records of a workbook with one sheet."""
    begin = record(0x0809, struct.pack("<HHHHII", 0x0600, 5, 0x0DBB, 0x07CC, 0, 6))
    name = struct.pack("<BB", 7, 1) + "Results".encode("utf-16-le")
    size = len(begin) + 4 + 6 + len(name) + 4
    book = begin + record(0x0085, struct.pack("<IH", size, 0) + name) + record(0x000A, b"")
    sheet = record(0x0809, struct.pack("<HHHHII", 0x0600, 0x10, 0x0DBB, 0x07CC, 0, 6))
    for (row, column), value in cells.items():
        place = struct.pack("<HHH", row, column, 0)
        if isinstance(value, str):
            text = struct.pack("<HB", len(value), 1) + value.encode("utf-16-le")
            sheet += record(0x0204, place + text)
        else:
            sheet += record(0x0203, place + struct.pack("<d", value))
    return book + sheet + more + record(0x000A, b"")


def xls(workbook: bytes, *, small: bool = False) -> bytes:
    """A compound file with sectors of 512 bytes around the records of a workbook.

    The sectors of the stream lie in reverse order; a small one lies in the root's small sectors.
    """
    nothing, end, table = 0xFFFFFFFF, 0xFFFFFFFE, 0xFFFFFFFD
    size = len(workbook) if small else max(len(workbook), 4096)
    sectors = -(-size // 512)
    tables = next(n for n in range(1, 110) if n * 128 >= n + 2 + sectors)
    first = tables + 2
    places = list(range(first, first + sectors))[::-1]
    links = dict(zip(places, [*places[1:], end], strict=True))
    fat = [table] * tables + [end, end] + [links[at] for at in range(first, first + sectors)]
    fat += [nothing] * (tables * 128 - len(fat))
    small_fat = [*range(1, -(-size // 64)), end] if small else []

    def entry(name: str, kind: int, start: int, length: int, child: int) -> bytes:
        text = name.encode("utf-16-le") + b"\0\0"
        return struct.pack(
            *("<64sHBB3I36xII4x", text, len(text), kind, 1, nothing, nothing, child),
            *(start, length),
        )

    header = struct.pack(
        *("<8s16xHHHHH6xIIIIIIIII", compound.MAGIC, 0x3E, 3, 0xFFFE, 9, 6),
        *(0, tables, tables, 0, 4096, tables + 1 if small else end, int(small), end, 0),
    )
    root = (places[0], sectors * 512) if small else (end, 0)
    directory = entry("Root Entry", 5, *root, 1)
    directory += entry("Workbook", 2, 0 if small else places[0], size, nothing)
    content = workbook.ljust(sectors * 512, b"\0")
    pieces = [content[at * 512 : (at + 1) * 512] for at in range(sectors)]
    return b"".join(
        [
            header,
            struct.pack("<109I", *range(tables), *[nothing] * (109 - tables)),
            struct.pack(f"<{len(fat)}I", *fat),
            directory.ljust(512, b"\0"),
            struct.pack(f"<{len(small_fat)}I", *small_fat).ljust(512, b"\xff"),
            *pieces[::-1],
        ]
    )


def xls_error(row: int, column: int, code: int) -> bytes:
    return record(0x0205, struct.pack("<HHHBB", row, column, 0, code, 1))


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
        *("12", "12.5", "True", "2026-03-02 10:30:00", "2026-03-02", "08:15:00", "007"),
        "1e+20",
    ]


def test_a_typed_number_keeps_its_size_where_the_point_parts_thousands():
    form = FileForm(kind="workbook", decimal=",", thousands=".")

    assert read(xlsx(["x"], [1.125]), form).cells["x"].tolist() == ["1,125"]


@pytest.mark.parametrize(("number", "style"), [(1e10, "[h]:mm:ss"), (-1e300, "yyyy-mm-dd hh:mm")])
def test_a_time_that_no_calendar_has_refuses_the_file_with_its_row(number, style):
    book = openpyxl.Workbook()
    book.active.append(["Lot", "Time"])
    book.active.append(["L-1", number])
    book.active["B2"].number_format = style
    out = io.BytesIO()
    book.save(out)

    assert "row 2 of the sheet holds a date or a time" in refused(out.getvalue()).what


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
    out = io.BytesIO()
    book.save(out)

    assert read(out.getvalue(), BOOK).cells["Lot"].tolist() == ["L-1"]


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
    [b"Lot,Reading\nL-1,5\n", compound.MAGIC[:4] + bytes(600), compound.MAGIC + b"\xff" * 600],
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


def test_two_parts_of_one_name_are_refused_for_the_engine_might_take_the_other():
    out = io.BytesIO(KINDS["xlsx"])
    with zipfile.ZipFile(out, "a") as archive:
        archive.writestr("XL/worksheets/sheet1.xml", "<x/>")

    assert "two parts of one name" in refused(out.getvalue()).what


def test_a_large_workbook_of_old_is_refused(monkeypatch):
    monkeypatch.setattr(limits, "LARGEST_XLS_MB", 0.001)

    assert "old workbook of more than" in refused(KINDS["xls"]).what


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


def test_a_workbook_that_packs_better_than_any_sheet_is_not_opened(monkeypatch):
    monkeypatch.setattr(limits, "SMALLEST_SUSPECT_MB", 1)
    content = with_rows("<row/>" * 900_000)

    assert re.search(r"it unpacks to \d{3} times its size", refused(content).what)


def test_a_part_that_is_larger_than_it_declares_is_not_read_on():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", b"0" * 100_000)
    understated = out.getvalue().replace((100_000).to_bytes(4, "little"), bytes([9, 0, 0, 0]))

    assert "another size than the archive says" in refused(understated).what


def test_a_part_packed_in_an_unknown_way_or_locked_is_refused():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_LZMA) as archive:
        archive.writestr("xl/workbook.xml", "hello")

    assert "packed in an unknown way" in refused(out.getvalue()).what


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
def test_no_way_of_writing_a_place_hides_a_stray_entry(markup):
    assert "spreads over" in refused(with_rows(markup)).what


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
    assert "spreads over" in refused(xls(stream({(0, 0): "Lot", (65535, 65535): 1.0}))).what


def test_the_dimensions_that_a_sheet_of_xls_claims_are_not_made_room_for():
    claimed = record(0x0200, struct.pack("<IIHHH", 0, 2**32 - 1, 0, 2**16 - 1, 0))

    assert read(xls(stream({(0, 0): "Lot", (1, 0): "L-1"}, claimed)), BOOK).headers == ("Lot",)


@pytest.mark.parametrize(
    ("workbook", "why"),
    [
        (record(0x0809, bytes(16)) + record(0x002F, bytes(4)), "password"),
        (record(0x00FC, struct.pack("<II", 0, 2**30)), "more texts than it can hold"),
        (record(0x0085, struct.pack("<I", 2**30)), "sheets that it does not hold"),
        (record(0x0085, struct.pack("<I", 0)) * 300, "sheets that it does not hold"),
        (record(0x0085, struct.pack("<I", 0)) * 2, "in one another"),
        (struct.pack("<HH", 0x0809, 9_999), "cut short"),
    ],
)
def test_records_of_xls_that_claim_what_they_do_not_hold_are_refused(workbook, why):
    assert why in refused(xls(workbook.ljust(4096, b"\0"))).what


@pytest.mark.parametrize(
    ("place", "value", "why"),
    [
        (30, 7, "no known size"),
        (48, 10**6, "leads nowhere"),
        (512 + 4 * 3, 3, "round in circles"),
        (1024 + 128, 0x41, "holds no workbook"),
    ],
)
def test_a_compound_file_with_broken_chains_is_refused(place, value, why):
    broken = bytearray(KINDS["xls"])
    struct.pack_into("<I", broken, place, value)

    assert why in refused(bytes(broken)).what


def test_a_table_of_sectors_that_goes_on_for_ever_is_refused():
    broken = bytearray(KINDS["xls"])
    # The table goes on in its own first sector, which says in its last place that it does again.
    struct.pack_into("<I", broken, 68, 0)
    struct.pack_into("<I", broken, 512 + 4 * 127, 0)

    assert "round in circles" in refused(bytes(broken)).what


@pytest.mark.parametrize("kind", ["xlsx", "ods"])
def test_markup_that_is_none_is_refused(kind):
    part = {"xlsx": "xl/workbook.xml", "ods": "content.xml"}[kind]

    assert "damaged" in refused(repacked(KINDS[kind], part, lambda _: b"<a><b></a>")).what


def test_names_of_parts_with_capital_letters_are_the_same_names():
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(with_rows('<row><c r="XFD1048576"/></row>'))) as old,
        zipfile.ZipFile(out, "w") as new,
    ):
        for name in old.namelist():
            new.writestr(name.replace("sheet1", "SHEET1"), old.read(name))

    assert "spreads over" in refused(out.getvalue()).what
