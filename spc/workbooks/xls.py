"""Sheets of an old workbook."""

import io
from collections.abc import Iterator
from typing import Any, Final

import xlrd  # type: ignore[import-untyped]

from spc.workbooks.number_codes import shown_text
from spc.workbooks.rows import Around, Page, Row, put_number

_TRUTHS: Final = {0: "FALSE", 1: "TRUE"}


def pages(content: bytes) -> list[Page]:
    """The sheets, in their order."""
    book = xlrd.open_workbook(
        file_contents=content,
        logfile=io.StringIO(),
        formatting_info=True,
        on_demand=True,
        ragged_rows=True,
    )
    return [_Sheet(book, place, name) for place, name in enumerate(book.sheet_names())]


class _Sheet:
    def __init__(self, book: Any, place: int, name: str) -> None:
        self.name, self._book, self._place = name, book, place
        self.hidden = book._sheet_visibility[place] != 0

    def rows(self, around: Around) -> Iterator[Row]:
        sheet = self._book.sheet_by_index(self._place)
        if len(sheet._cell_types) != sheet.nrows:
            raise ValueError("it states its size twice, and the library forgets what came before")
        around.hidden_columns.update(
            column for column, about in sheet.colinfo_map.items() if about.hidden
        )
        around.merged.extend(
            (top + 1, left, bottom, right - 1) for top, bottom, left, right in sheet.merged_cells
        )
        for place in range(sheet.nrows):
            about = sheet.rowinfo_map.get(place)
            row = Row(number=place + 1, hidden=bool(about and about.hidden))
            for column, kind in enumerate(sheet.row_types(place)):
                if kind not in (xlrd.XL_CELL_EMPTY, xlrd.XL_CELL_BLANK):
                    self._put(row, column, sheet, kind)
            yield row

    def _put(self, row: Row, column: int, sheet: Any, kind: int) -> None:
        place = row.number - 1
        value = sheet.cell_value(place, column)
        code, struck = self._style(sheet.cell_xf_index(place, column))
        runs = sheet.rich_text_runlist_map.get((place, column), ())
        if struck or any(self._book.font_list[font].struck_out for _, font in runs):
            row.struck.append(column)
        if kind in (xlrd.XL_CELL_NUMBER, xlrd.XL_CELL_DATE):
            put_number(row, column, value, code, from_1904=bool(self._book.datemode))
        elif kind == xlrd.XL_CELL_ERROR:
            row.put_error(column, xlrd.error_text_from_code.get(value, "#ERROR"))
        elif kind == xlrd.XL_CELL_BOOLEAN:
            row.put(column, _TRUTHS[value])
        else:
            row.put(column, shown_text(code, value))

    def _style(self, place: int) -> tuple[str, bool]:
        style = self._book.xf_list[place]
        known = self._book.format_map.get(style.format_key)
        struck = bool(self._book.font_list[style.font_index].struck_out)
        return known.format_str if known else "General", struck
