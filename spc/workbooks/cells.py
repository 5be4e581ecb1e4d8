"""Cells of a sheet in plain values, as they come through the wall."""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final, TypeAlias

# A text; a number that is shown as it is stored; or the digits of one, with the text that is shown
# before and after them.
Cell: TypeAlias = str | int | float | Sequence[str]
Place: TypeAlias = tuple[int, int]


# What may be said of single cells.
MARKS: Final = ("struck", "errors", "unlike")


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """Merged cells, ends included; rows counted from 1 and columns from 0."""

    top: int
    left: int
    bottom: int
    right: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Some rows of a sheet, one below the other; blank ones are left out.

    Attributes
    ----------
    rows
        Number of each row, and its cells up to the last that holds something.
    hidden
        Numbers of hidden rows among them.
    struck, errors, unlike
        Row and column of cells that are struck through, that hold an error or a formula that was
        never calculated, and that show another value than the one that is stored.
    """

    rows: Sequence[Sequence[Any]]
    hidden: Sequence[int] = ()
    struck: Sequence[Place] = ()
    errors: Sequence[Place] = ()
    unlike: Sequence[Place] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A sheet as it was read.

    Attributes
    ----------
    hidden
        Whether the sheet is.
    hidden_columns
        Counted from 0.
    packed
        Its rows as they came through the wall, since a long sheet takes ten times the memory once
        it is unpacked.
    """

    name: str
    hidden: bool
    packed: tuple[bytes, ...] = ()
    hidden_columns: frozenset[int] = frozenset()
    merged: tuple[Area, ...] = ()

    def stretches(self) -> Iterator[Stretch]:
        """Its rows from the first to the last, some at a time."""
        for frame in self.packed:
            said = json.loads(frame)
            yield Stretch(
                rows=said["rows"],
                hidden=said["hidden"],
                **{mark: [(row, column) for row, column in said[mark]] for mark in MARKS},
            )
