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
from spc.workbooks.ods_codes import UNSAID, Styles
from spc.workbooks.packing import LARGEST_UNPACKED
from spc.workbooks.rows import Around, Page, Row, put_number
from spc.workbooks.spread import MOST_COLUMNS, MOST_ROWS, refuse_spread

_TRUTHS: Final = {False: "FALSE", True: "TRUE"}
_ERROR: Final = re.compile(r"#[A-Z/0]+[!?]?|Err:[0-9]+")
_ROWS: Final = "descendant::table:table-row[not(ancestor::table:table-cell)]"
_CELLS: Final = xpath_compile("table:table-cell | table:covered-table-cell")
_LETTERS: Final = xpath_compile("text:p//text:span")
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
            at = element.attributes
            alike = _repeats(at, "table:number-rows-repeated", MOST_ROWS - number + 1)
            row = Row(number=number, hidden=at.get("table:visibility") in _UNSEEN)
            self._put_cells(row, element, at.get("table:default-cell-style-name", ""), around)
            if row.cells:
                refuse_spread(number + alike - 1, max(row.cells) + 1)
                yield from (replace(row, number=number + later) for later in range(alike))
            number += alike

    def _note_columns(self, around: Around) -> None:
        for element in self._table.get_elements("descendant::table:table-column"):
            at = element.attributes
            alike = _repeats(at, "table:number-columns-repeated", MOST_COLUMNS - len(self._usual))
            if at.get("table:visibility") in _UNSEEN:
                around.hidden_columns.update(range(len(self._usual), len(self._usual) + alike))
            self._usual += [at.get("table:default-cell-style-name", "")] * alike

    def _put_cells(self, row: Row, element: Element, usual: str, around: Around) -> None:
        column = 0
        for cell in element.get_elements(_CELLS):
            if not isinstance(cell, Cell):
                continue
            at = cell.attributes
            alike = _repeats(at, "table:number-columns-repeated", MOST_COLUMNS - column)
            down = int(at.get("table:number-rows-spanned", "1"))
            right = int(at.get("table:number-columns-spanned", "1"))
            if down > 1 or right > 1:
                around.merged.append(
                    (row.number, column, row.number + down - 1, column + right - 1)
                )
            if "office:value-type" in at or "table:formula" in at:
                refuse_spread(row.number, column + alike)
                for place in range(column, column + alike):
                    name = at.get("table:style-name") or usual or self._usual_at(place)
                    self._put(row, place, cell, at, name)
            column += alike

    def _usual_at(self, column: int) -> str:
        return self._usual[column] if column < len(self._usual) else ""

    def _put(self, row: Row, column: int, cell: Cell, at: dict[str, str], name: str) -> None:
        kind = at.get("office:value-type", "")
        letters = cell.get_elements(_LETTERS) if kind == "string" else []
        names = [name, *(one.attributes.get("text:style-name", "") for one in letters)]
        if any(map(self._styles.is_struck, names)):
            row.struck.append(column)
        code = self._styles.code(name) or UNSAID.get(kind, "General")
        if kind in ("float", "percentage", "currency"):
            put_number(row, column, float(at.get("office:value", "nan")), code, from_1904=False)
        else:
            _put_other(row, column, cell, (kind, code, at))


def _put_other(row: Row, column: int, cell: Cell, said: tuple[str, str, dict[str, str]]) -> None:
    kind, code, at = said
    value = cell.value
    if not kind:
        row.put_error(column, "=" + at["table:formula"].partition("=")[2])
    elif kind == "boolean":
        row.put(column, _TRUTHS[bool(value)])
    elif isinstance(value, timedelta):
        section = sections(code)[0]
        row.put(column, shown_moment(section, _FIRST + value, elapsed=value))
    elif kind == "date":
        moment = datetime.fromisoformat(str(value))
        row.put(column, shown_moment(sections(code)[0], moment, elapsed=moment - _FIRST))
    elif _is_error(at, str(value)):
        shown = cell.inner_text if at.get("calcext:value-type") == "error" else str(value)
        row.put_error(column, shown or "#ERROR")
    elif value:
        row.put(column, shown_text(code, str(value)))


def _is_error(at: dict[str, str], text: str) -> bool:
    by_formula = "table:formula" in at and _ERROR.fullmatch(text) is not None
    return at.get("calcext:value-type") == "error" or by_formula


def _repeats(at: dict[str, str], name: str, most: int) -> int:
    return max(0, min(int(at.get(name, "1")), most))
