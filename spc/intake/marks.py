"""What a workbook says of its cells besides their texts: hidden, struck through, merged ..."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator
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


NONE = Marks()
