"""What a person does not see in a workbook, or sees otherwise, in words."""

from collections.abc import Iterable, Sequence
from typing import Final

from spc.intake.marks import Marks

HIDDEN: Final = "Hidden cells of this source count like any other"
STRUCK: Final = "Cells that are struck through count like any other"
MERGED: Final = "A value merged downwards is that of every row beside it"
WAITING: Final = "Rows with such cells in a column that is read wait for a person."
_SHOWN: Final = 5


def hidden(marks: Marks, headers: Sequence[str]) -> str:
    """Which parts of a table are hidden; empty if none is."""
    if marks.hidden_sheet:
        return "The whole sheet is hidden."
    rows = _listed(map(str, sorted(marks.hidden_rows)))
    columns = _listed(_names(sorted(marks.hidden_columns), headers))
    said = [
        f"{'rows' if ',' in rows or ' ' in rows else 'row'} {rows}" if rows else "",
        f"column {columns}" if columns else "",
    ]
    parts = " and ".join(filter(None, said))
    return f"Hidden: {parts}." if parts else ""


def struck(marks: Marks, headers: Sequence[str]) -> str:
    """Which cells are struck through; empty if none is."""
    cells = _listed(_places(marks.struck, headers))
    return f"Struck through: {cells}." if cells else ""


def merged(marks: Marks, headers: Sequence[str]) -> str:
    """Which cells are merged; empty if none is."""
    areas = [(area.top, area.left) for area in marks.merged]
    cells = _listed(_places(areas, headers))
    return f"Merged with others: {cells}." if cells else ""


def odd(marks: Marks, headers: Sequence[str]) -> str:
    """Which cells show an error, or another value than they hold; empty if none does."""
    cells = _listed(_places(marks.errors | marks.unlike, headers))
    return f"In error, or shown otherwise than stored: {cells}." if cells else ""


def _places(cells: Iterable[tuple[int, int]], headers: Sequence[str]) -> list[str]:
    named = [(row, place) for row, place in sorted(cells) if place < len(headers)]
    return [f"{headers[place] or f'column {place + 1}'} in row {row}" for row, place in named]


def _names(places: Iterable[int], headers: Sequence[str]) -> list[str]:
    return [headers[place] or str(place + 1) for place in places if place < len(headers)]


def _listed(words: Iterable[str]) -> str:
    every = list(words)
    more = len(every) - _SHOWN
    return ", ".join(every[:_SHOWN]) + (f" and {more} more" if more > 0 else "")
