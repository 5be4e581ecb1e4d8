"""Outlines of the sheets of an ODS workbook, from its markup."""

from collections.abc import Iterable
from typing import Final
from xml.parsers import expat

from spc.intake.readers.outline import Outline, feed, refuse_spread

CONTENT: Final = "content.xml"
# No sheet has more, and the engine takes no more.
_MOST_ROWS: Final = 1_048_576
_MOST_COLUMNS: Final = 16_384
_CELLS: Final = ("table:table-cell", "table:covered-table-cell")


def outlines(markup: Iterable[bytes]) -> list[Outline]:
    """The outline of each sheet, in the order of the workbook.

    Raises
    ------
    UnreadableFile
        If the markup is damaged, or the sheets spread too far.
    """
    sheets = _Sheets()
    parser = expat.ParserCreate()
    parser.StartElementHandler = sheets.start
    parser.EndElementHandler = sheets.end
    parser.CharacterDataHandler = sheets.characters
    feed(parser, markup)
    refuse_spread(sheets.done)
    return sheets.done


class _Sheets:
    """Counts rows and columns while the markup goes by; each may stand for many alike."""

    def __init__(self) -> None:
        self.done: list[Outline] = []
        self._row = self._rows_alike = self._column = 0
        self._rows = self._columns = 0
        self._unsaid: dict[tuple[int, int], str] = {}
        # The first column of an error whose text is just going by, and what was heard of it.
        self._error_at: int | None = None
        self._heard = ""

    def start(self, name: str, at: dict[str, str]) -> None:
        if name == "table:table":
            self._row = self._rows = self._columns = 0
            self._unsaid = {}
        elif name == "table:table-row":
            self._rows_alike = _repeats(at, "table:number-rows-repeated", _MOST_ROWS - self._row)
            self._column = 0
        elif name in _CELLS:
            self._cell(at)

    def end(self, name: str) -> None:
        if name == "table:table":
            self.done.append(
                Outline(rows=self._rows, columns=self._columns, unsaid=dict(self._unsaid))
            )
        elif name == "table:table-row":
            self._row += self._rows_alike
        elif name in _CELLS and self._error_at is not None:
            self._note(self._error_at, self._heard or "#ERROR")
            self._error_at = None

    def characters(self, text: str) -> None:
        if self._error_at is not None:
            self._heard += text

    def _cell(self, at: dict[str, str]) -> None:
        alike = _repeats(at, "table:number-columns-repeated", _MOST_COLUMNS - self._column)
        formula, kind = at.get("table:formula"), at.get("office:value-type")
        first, self._column = self._column, self._column + alike
        if formula is None and kind is None:
            return
        self._rows = max(self._rows, self._row + self._rows_alike)
        self._columns = max(self._columns, self._column)
        if at.get("calcext:value-type") == "error":
            self._error_at, self._heard = first, ""
        elif kind is None:
            self._note(first, "=" + (formula or "").partition("=")[2])

    def _note(self, first: int, text: str) -> None:
        refuse_spread([Outline(rows=self._rows, columns=self._columns)])
        for row in range(self._row, self._row + self._rows_alike):
            for column in range(first, self._column):
                self._unsaid[row, column] = text


def _repeats(at: dict[str, str], name: str, most: int) -> int:
    return max(0, min(int(at.get(name, "1")), most))
