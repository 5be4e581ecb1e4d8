"""Sheets of an XLSX workbook."""

import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from openpyxl.cell.rich_text import CellRichText, TextBlock  # type: ignore[import-untyped]
from openpyxl.reader.excel import ExcelReader  # type: ignore[import-untyped]
from openpyxl.styles.numbers import (  # type: ignore[import-untyped]
    BUILTIN_FORMATS,
    BUILTIN_FORMATS_MAX_SIZE,
)
from openpyxl.styles.stylesheet import apply_stylesheet  # type: ignore[import-untyped]
from openpyxl.utils.cell import range_boundaries  # type: ignore[import-untyped]
from openpyxl.utils.datetime import CALENDAR_MAC_1904  # type: ignore[import-untyped]

# The library's own parser of a sheet, row by row: its sheets would fill what stray entries span.
from openpyxl.worksheet._reader import (  # type: ignore[import-untyped]
    FORMULA_TAG,
    INLINE_STRING,
    WorkSheetParser,
)
from openpyxl.xml.constants import SHEET_MAIN_NS  # type: ignore[import-untyped]

from spc.workbooks.number_codes import shown_text
from spc.workbooks.rows import Around, Page, Row, put_number

_TRUTHS: Final = {False: "FALSE", True: "TRUE"}
_UNCALCULATED: Final = "f"
_WHOLE_TEXT: Final = f"{INLINE_STRING}/{{{SHEET_MAIN_NS}}}t"


@dataclass(frozen=True, slots=True, kw_only=True)
class Style:
    """What the style of a cell says about what is seen."""

    code: str = "General"
    struck: bool = False


def pages(content: bytes) -> list[Page]:
    """The sheets, in their order."""
    reader = ExcelReader(
        io.BytesIO(content), read_only=True, data_only=True, keep_links=False, rich_text=True
    )
    reader.read_manifest()
    reader.read_strings()
    reader.read_workbook()
    apply_stylesheet(reader.archive, reader.wb)
    styles = [_style(reader.wb, one) for one in reader.wb._cell_styles]
    return [
        _Sheet(reader, rel.target, styles, name=sheet.name, hidden=sheet.state != "visible")
        for sheet, rel in reader.parser.find_sheets()
        if "chartsheet" not in rel.Type
    ]


def _style(book: Any, style: Any) -> Style:
    number = style.numFmtId
    code = (
        BUILTIN_FORMATS.get(number, "General")
        if number < BUILTIN_FORMATS_MAX_SIZE
        else book._number_formats[number - BUILTIN_FORMATS_MAX_SIZE]
    )
    return Style(code=code, struck=bool(book._fonts[style.fontId].strike))


class _Sheet:
    def __init__(
        self, reader: Any, part: str, styles: list[Style], *, name: str, hidden: bool
    ) -> None:
        self.name, self.hidden = name, hidden
        self._reader, self._part, self._styles = reader, part, styles
        self._from_1904 = reader.wb.epoch == CALENDAR_MAC_1904

    def rows(self, around: Around) -> Iterator[Row]:
        with self._reader.archive.open(self._part) as markup:
            parser = _Parser(markup, self._reader.shared_strings, data_only=True, rich_text=True)
            for number, cells in parser.parse():
                attributes = parser.row_dimensions.pop(str(number), {})
                row = Row(number=number, hidden=_is_set(attributes, "hidden"))
                for cell in cells:
                    if cell["value"] is not None:
                        self._put(row, cell)
                yield row
        _note(parser, around)

    def _put(self, row: Row, cell: dict[str, Any]) -> None:
        column, value, kind = cell["column"] - 1, cell["value"], cell["data_type"]
        if cell["row"] != row.number or column in row.cells:
            raise ValueError("a cell stands in another row, or twice")
        style = self._styles[cell["style_id"]]
        if style.struck:
            row.struck.append(column)
        if kind == "n":
            put_number(row, column, value, style.code, from_1904=self._from_1904)
        elif kind in ("e", _UNCALCULATED):
            row.put_error(column, str(value))
        elif kind == "b":
            row.put(column, _TRUTHS[value])
        elif kind == "d":
            row.put(column, _iso(value))
        else:
            if isinstance(value, CellRichText) and any(map(_is_struck, value)):
                row.struck.append(column)
            row.put(column, shown_text(style.code, str(value)))


class _Parser(WorkSheetParser):  # type: ignore[misc]
    """Tells a formula that was never calculated from an empty cell."""

    def parse_cell(self, element: Any) -> dict[str, Any]:
        whole = element.find(_WHOLE_TEXT) if element.get("t") == "inlineStr" else None
        if whole is not None:
            # The library builds an object for every letter style that a text might have.
            element.set("t", "str")
        cell: dict[str, Any] = super().parse_cell(element)
        if whole is not None:
            cell["value"] = whole.text
        if cell["value"] is None and cell["data_type"] != "str":
            formula = element.find(FORMULA_TAG)
            if formula is not None:
                cell["data_type"], cell["value"] = _UNCALCULATED, f"={formula.text or ''}"
            elif cell["data_type"] == "e":
                cell["value"] = "#ERROR"
        return cell


def _iso(moment: object) -> str:
    """Of a moment that is stored as one, and not as a number of days."""
    if isinstance(moment, datetime):
        return moment.isoformat(sep=" ", timespec="seconds")
    return str(moment)


def _is_struck(piece: object) -> bool:
    return isinstance(piece, TextBlock) and bool(piece.font.strike)


def _is_set(attributes: Mapping[str, str], name: str) -> bool:
    return attributes.get(name, "0") in ("1", "true")


def _note(parser: WorkSheetParser, around: Around) -> None:
    for columns in parser.column_dimensions.values():
        if _is_set(columns, "hidden"):
            around.hidden_columns.update(range(int(columns["min"]) - 1, int(columns["max"])))
    if parser.merged_cells:
        for area in parser.merged_cells.mergeCell:
            left, top, right, bottom = range_boundaries(area.ref)
            around.merged.append((top, left - 1, bottom, right - 1))
