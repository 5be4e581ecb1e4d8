"""What the readers of each format give within the wall: rows, and what is said of their cells."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import timedelta
from functools import lru_cache
from typing import Protocol

from spc.workbooks.cells import Cell
from spc.workbooks.moment_codes import moment_of, shown_moment
from spc.workbooks.number_codes import is_plain, section_of, shown_number

Ends = tuple[int, int, int, int]


@dataclass(slots=True, kw_only=True)
class Row:
    """One row while it is read; columns are counted from 0."""

    number: int
    cells: dict[int, Cell] = field(default_factory=dict)
    hidden: bool = False
    struck: list[int] = field(default_factory=list)
    errors: list[int] = field(default_factory=list)
    unlike: list[int] = field(default_factory=list)

    def put(self, column: int, cell: Cell, *, unlike: bool = False) -> None:
        """A cell of the row."""
        self.cells[column] = cell
        if unlike:
            self.unlike.append(column)

    def put_error(self, column: int, text: str) -> None:
        """An error, or a formula that was never calculated."""
        self.cells[column] = text
        self.errors.append(column)


@dataclass(slots=True, kw_only=True)
class Around:
    """What is known of a sheet besides its rows, complete once they have all gone by."""

    hidden_columns: set[int] = field(default_factory=set)
    merged: list[Ends] = field(default_factory=list)


class Page(Protocol):
    """A sheet that can be read."""

    name: str
    hidden: bool

    def rows(self, around: Around) -> Iterator[Row]:
        """Each row that holds something, from the first."""


def put_number(row: Row, column: int, number: float, code: str, *, from_1904: bool) -> None:
    """A number as its format shows it."""
    if code == "General" or is_plain(code):
        row.cells[column] = number
        return
    cell, unlike = _shown(number, code, from_1904=from_1904)
    row.put(column, cell, unlike=unlike)


@lru_cache(maxsize=4096)
def _shown(number: float, code: str, *, from_1904: bool) -> tuple[Cell, bool]:
    section, _ = section_of(code, number)
    if not section.is_moment:
        shown = shown_number(code, number)
        return (shown.before, shown.digits, shown.after), shown.unlike
    moment = moment_of(number, from_1904=from_1904)
    if moment is None:
        # A spreadsheet shows nothing but a fence here.
        return str(number), True
    return shown_moment(section, moment, elapsed=timedelta(days=number)), False
