"""Workbooks for tests: XLSX by a common writer, ODS and XLS put together here byte by byte.

The XLS and ODS files hold no more than their standards ask for; no file of a spreadsheet program
was at hand.  [MS-CFB] and [MS-XLS] for the one, OASIS OpenDocument 1.3 part 3 for the other.
"""

import io
import re
import struct
import zipfile
from collections.abc import Callable, Mapping, Sequence
from typing import Any
from xml.sax.saxutils import escape, quoteattr

import openpyxl  # type: ignore[import-untyped]

from spc.workbooks.packing import OLD

# XLSX


def saved(book: Any) -> bytes:
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def xlsx(*rows: Sequence[Any], sheet: str = "Results", merged: Sequence[str] = ()) -> bytes:
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    page.title = sheet
    for row in rows:
        page.append(list(row))
    for cells in merged:
        page.merge_cells(cells)
    return saved(book)


def changed(change: Callable[[Any], object], *rows: Sequence[Any]) -> bytes:
    """A workbook of these rows whose sheet was changed by hand."""
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    for row in rows:
        page.append(list(row))
    change(page)
    return saved(book)


def repacked(content: bytes, part: str, change: Callable[[bytes], bytes]) -> bytes:
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


def ods(*sheets: str, styles: str = "") -> bytes:
    """A workbook of sheets and automatic styles in the markup of ODS."""
    spaces = "".join(
        f' xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
        for name in ("office", "table", "text", "style")
    )
    spaces += ' xmlns:number="urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0"'
    calc = ' xmlns:calcext="urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0"'
    tables = "".join(
        sheet
        if sheet.startswith("<table:table ")
        else f'<table:table table:name="Sheet{number}">{sheet}</table:table>'
        for number, sheet in enumerate(sheets, start=1)
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
            f"<office:document-content{spaces}{calc}><office:automatic-styles>{styles}"
            f"</office:automatic-styles><office:body><office:spreadsheet>{tables}"
            "</office:spreadsheet></office:body></office:document-content>",
        )
    return out.getvalue()


def ods_cell(cell: str | float | None, *, style: str = "", kind: str = "float") -> str:
    named = f" table:style-name={quoteattr(style)}" if style else ""
    if cell is None:
        return f"<table:table-cell{named}/>"
    if isinstance(cell, str):
        return (
            f'<table:table-cell{named} office:value-type="string"><text:p>{escape(cell)}</text:p>'
            "</table:table-cell>"
        )
    return f'<table:table-cell{named} office:value-type="{kind}" office:value="{cell!r}"/>'


def ods_row(*cells: str | float | None, alike: int = 1) -> str:
    repeat = f' table:number-rows-repeated="{alike}"' if alike > 1 else ""
    return f"<table:table-row{repeat}>{''.join(map(ods_cell, cells))}</table:table-row>"


# XLS

Styled = tuple[str | float, int]


def record(kind: int, body: bytes) -> bytes:
    return struct.pack("<HH", kind, len(body)) + body


def stream(
    cells: Mapping[tuple[int, int], str | float | Styled],
    more: bytes = b"",
    *,
    styles: Sequence[tuple[str, bool]] = (),
    visibility: int = 0,
    from_1904: bool = False,
    first: bytes = b"",
) -> bytes:
    """The records of a workbook with one sheet.

    Styles are number formats, and whether they strike through; the first has the number 1.
    """
    begin = record(0x0809, struct.pack("<HHHHII", 0x0600, 5, 0x0DBB, 0x07CC, 0, 6))
    begin += record(0x0022, struct.pack("<H", from_1904)) + _styles(styles)
    name = struct.pack("<BB", 7, 1) + "Results".encode("utf-16-le")
    size = len(begin) + 4 + 6 + len(name) + 4
    sheet_of = record(0x0085, struct.pack("<IBB", size, visibility, 0) + name)
    book = begin + sheet_of + record(0x000A, b"")
    sheet = record(0x0809, struct.pack("<HHHHII", 0x0600, 0x10, 0x0DBB, 0x07CC, 0, 6)) + first
    for (row, column), cell in cells.items():
        value, style = cell if isinstance(cell, tuple) else (cell, 0)
        place = struct.pack("<HHH", row, column, style)
        if isinstance(value, str):
            text = struct.pack("<HB", len(value), 1) + value.encode("utf-16-le")
            sheet += record(0x0204, place + text)
        else:
            sheet += record(0x0203, place + struct.pack("<d", value))
    return book + sheet + more + record(0x000A, b"")


def _styles(styles: Sequence[tuple[str, bool]]) -> bytes:
    """Fonts, of which the fifth record strikes through, number formats, and what combines them."""
    name = struct.pack("<BB", 5, 0) + b"Plain"
    fonts = b"".join(
        record(0x0031, struct.pack("<HHHHHBBBx", 200, 8 * struck, 8, 400, 0, 0, 0, 0) + name)
        for struck in (False, False, False, False, True)
    )
    formats = b"".join(
        record(0x041E, struct.pack("<HHB", 164 + at, len(code), 1) + code.encode("utf-16-le"))
        for at, (code, _) in enumerate(styles)
    )
    wholes = [(0, 0), *((5 if struck else 0, 164 + at) for at, (_, struck) in enumerate(styles))]
    return (
        fonts
        + formats
        + b"".join(
            record(0x00E0, struct.pack("<HHHBBBBIiH", font, code, 1, 0, 0, 0, 0xFC, 0, 0, 0))
            for font, code in wholes
        )
    )


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
        *("<8s16xHHHHH6xIIIIIIIII", OLD, 0x3E, 3, 0xFFFE, 9, 6),
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
