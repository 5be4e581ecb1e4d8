"""Sheets of an ODS workbook."""

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from odfdo import Cell, Document, Element, Table
from odfdo.element import xpath_compile
from odfdo.security import security

from spc.workbooks.moment_codes import shown_moment
from spc.workbooks.number_codes import sections, shown_text
from spc.workbooks.ods_codes import UNSAID, Styles, said
from spc.workbooks.packing import LARGEST_UNPACKED
from spc.workbooks.rows import Around, Page, Row, put_number
from spc.workbooks.spread import MOST_COLUMNS, MOST_ROWS, refuse_spread

_TRUTHS: Final = {False: "FALSE", True: "TRUE"}
_ERROR: Final = re.compile(r"#[A-Z/0]+[!?]?|Err:[0-9]+")
_ROWS: Final = "descendant::table:table-row[not(ancestor::table:table-cell)]"
_CELLS: Final = xpath_compile("table:table-cell | table:covered-table-cell")
_LETTERS: Final = xpath_compile("text:p//text:span")
_NUMBERS: Final = ("float", "percentage", "currency")
_UNSEEN: Final = ("collapse", "filter")
_FIRST: Final = datetime(1899, 12, 30)  # noqa: DTZ001 - a workbook's dates have no zone


def pages(content: bytes) -> list[Page]:
    """The sheets, in their order; the archive was measured before, whatever it holds."""
    security.max_uncompressed_size = security.max_compression_ratio = LARGEST_UNPACKED
    document = Document(io.BytesIO(content))
    styles = Styles(document=document)
    return [_Sheet(table, styles) for table in document.body.get_tables()]


class _Sheet:
    def __init__(self, table: Table, styles: Styles) -> None:
        self.name = table.name or ""
        self.hidden = not styles.is_displayed(table.style or "")
        self._table, self._styles = table, styles
        self._usual: list[str] = []

    def rows(self, around: Around) -> Iterator[Row]:
        self._note_columns(around)
        number = 1
        for element in self._table.get_elements(_ROWS):
            alike = _repeats(element, "table:number-rows-repeated", MOST_ROWS - number + 1)
            row = Row(number=number, hidden=said(element, "table:visibility") in _UNSEEN)
            self._put_cells(row, element, around)
            if row.cells:
                refuse_spread(number + alike - 1, max(row.cells) + 1)
                yield from (replace(row, number=number + later) for later in range(alike))
            number += alike

    def _note_columns(self, around: Around) -> None:
        for element in self._table.get_elements("descendant::table:table-column"):
            first = len(self._usual)
            alike = _repeats(element, "table:number-columns-repeated", MOST_COLUMNS - first)
            if said(element, "table:visibility") in _UNSEEN:
                around.hidden_columns.update(range(first, first + alike))
            self._usual += [said(element, "table:default-cell-style-name")] * alike

    def _put_cells(self, row: Row, element: Element, around: Around) -> None:
        usual = said(element, "table:default-cell-style-name")
        column = 0
        for cell in element.get_elements(_CELLS):
            alike = _repeats(cell, "table:number-columns-repeated", MOST_COLUMNS - column)
            kind = said(cell, "office:value-type")
            if isinstance(cell, Cell) and (kind or said(cell, "table:formula")):
                refuse_spread(row.number, column + alike)
                for place in range(column, column + alike):
                    name = said(cell, "table:style-name") or usual or self._usual_at(place)
                    self._put(row, place, cell, kind, name)
            _note_merged(around, row.number, column, cell)
            column += alike

    def _usual_at(self, column: int) -> str:
        return self._usual[column] if column < len(self._usual) else ""

    def _put(self, row: Row, column: int, cell: Cell, kind: str, name: str) -> None:
        if self._styles.is_struck(name) or (kind == "string" and self._has_struck_letters(cell)):
            row.struck.append(column)
        code = self._styles.code(name) or UNSAID.get(kind, "General")
        if kind in _NUMBERS:
            number = float(said(cell, "office:value") or "nan")
            put_number(row, column, number, code, from_1904=False)
        elif kind in ("date", "time"):
            row.put(column, _moment(cell, code, kind))
        elif kind == "boolean":
            row.put(column, _TRUTHS[said(cell, "office:boolean-value") == "true"])
        elif kind:
            _put_text(row, column, cell, code)
        else:
            row.put_error(column, "=" + said(cell, "table:formula").partition("=")[2])

    def _has_struck_letters(self, cell: Cell) -> bool:
        return self._styles.any_letters_struck and any(
            self._styles.is_struck(said(one, "text:style-name"))
            for one in cell.get_elements(_LETTERS)
        )


def _note_merged(around: Around, row: int, column: int, cell: Element) -> None:
    down = int(said(cell, "table:number-rows-spanned") or 1)
    right = int(said(cell, "table:number-columns-spanned") or 1)
    if down > 1 or right > 1:
        around.merged.append((row, column, row + down - 1, column + right - 1))


def _moment(cell: Cell, code: str, kind: str) -> str:
    # One that is formatted as a number is not shown as any number that it would be elsewhere.
    section = next((one for one in sections(code) if one.is_moment), None)
    section = section or sections(UNSAID[kind])[0]
    value = cell.value
    if isinstance(value, timedelta):
        return shown_moment(section, _FIRST + value, elapsed=value)
    moment = datetime.fromisoformat(str(value)).replace(tzinfo=None)
    return shown_moment(section, moment, elapsed=moment - _FIRST)


def _put_text(row: Row, column: int, cell: Cell, code: str) -> None:
    text = str(cell.value)
    is_error = said(cell, "calcext:value-type") == "error"
    if is_error or (said(cell, "table:formula") and _ERROR.fullmatch(text)):
        row.put_error(column, (cell.inner_text if is_error else text) or "#ERROR")
    elif text:
        row.put(column, shown_text(code, text))


def _repeats(element: Element, name: str, most: int) -> int:
    return max(0, min(int(said(element, name) or 1), most))
