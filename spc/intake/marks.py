"""What a workbook says of its cells besides their texts: hidden, struck through, merged ..."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from spc.workbooks import Area

# Number of a row in its file, and place of a column, counted from 0.
Place = tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """Marks of the cells of one table; kinds of file other than workbooks have none.

    Attributes
    ----------
    hidden_sheet
        Whether the whole table stands in a hidden sheet.
    hidden_rows, hidden_columns
        Numbers of rows and places of columns.
    struck
        Cells that are struck through, in whole or in part.
    errors
        Cells that show an error, or hold a formula that was never calculated.
    unlike
        Cells that show another value than the one that is stored in them.
    merged
        Cells that are one for whoever looks at them; what is seen stands in the first.
    seen
        Cells into which a person put a text of their own; no mark counts there any more, and that
        their row is hidden does not count either.
    """

    hidden_sheet: bool = False
    hidden_rows: frozenset[int] = frozenset()
    hidden_columns: frozenset[int] = frozenset()
    struck: frozenset[Place] = frozenset()
    errors: frozenset[Place] = frozenset()
    unlike: frozenset[Place] = frozenset()
    merged: tuple[Area, ...] = ()
    seen: frozenset[Place] = frozenset()

    def once_seen(self, places: Iterable[Place]) -> "Marks":
        """The marks that are left once a person has put texts into some cells."""
        return replace(self, seen=self.seen.union(places))

    def seen_rows(self) -> frozenset[int]:
        """Rows in which a person has put a text into some cell."""
        return frozenset(row for row, _ in self.seen)

    def covered(self, rows: Iterable[int], *, downwards: bool) -> Iterator[Place]:
        """Cells of some rows that are a part of merged cells, and not their first.

        Parameters
        ----------
        downwards
            Also those straight below the first.
        """
        numbers = sorted(rows)
        for area in self.merged:
            first, last = bisect_left(numbers, area.top), bisect_right(numbers, area.bottom)
            for row in numbers[first:last]:
                for column in range(area.left, area.right + 1):
                    is_first = row == area.top and column == area.left
                    if not is_first and (downwards or column > area.left):
                        yield row, column

    def turned(self, lines: Sequence[int], *, first: int) -> "Marks":
        """The marks of the table with its rows as columns.

        Parameters
        ----------
        lines
            Numbers of the rows below the header, in their order; the header stands just above.
        first
            The number of the row that the column after the first becomes.
        """
        if self == NONE:
            return self
        numbers = [lines[0] - 1, *lines]
        places = {row: place for place, row in enumerate(numbers)}

        def over(cells: frozenset[Place]) -> frozenset[Place]:
            return frozenset(
                (column - 1 + first, places[row]) for row, column in cells if row in places
            )

        return Marks(
            hidden_sheet=self.hidden_sheet,
            hidden_rows=frozenset(column - 1 + first for column in self.hidden_columns),
            hidden_columns=frozenset(places[row] for row in self.hidden_rows if row in places),
            struck=over(self.struck),
            errors=over(self.errors),
            unlike=over(self.unlike),
            merged=tuple(
                Area(
                    top=area.left - 1 + first,
                    left=bisect_left(numbers, area.top),
                    bottom=area.right - 1 + first,
                    right=bisect_right(numbers, area.bottom) - 1,
                )
                for area in self.merged
                if bisect_left(numbers, area.top) < bisect_right(numbers, area.bottom)
            ),
            seen=over(self.seen),
        )


NONE = Marks()
