"""Everything a recipe must keep, each named in words, so that a conflict can be told."""

from dataclasses import dataclass
from typing import Final, Literal

Kind = Literal[
    "odds",
    "each lot",
    "share",
    "most lots",
    "opened first",
    "whole bags",
    "result age",
    "shelf life",
    "at least",
    "at most",
    "stock",
    "batch",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Constraint:
    """One thing that a recipe must keep.

    Attributes
    ----------
    kind
        What sort of thing it is.
    text
        The same in words.
    place
        Index of the window, or of the limit of share, that it comes from; -1 for the others.
    """

    kind: Kind
    text: str
    place: int = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """The constraints that a model keeps.

    Attributes
    ----------
    constraints
        Each of them once.
    """

    constraints: tuple[Constraint, ...]

    def of(self, kind: Kind, place: int | None = None) -> Constraint | None:
        """The first of a kind, of one window or limit of share if `place` is given; else None."""
        return next(
            (one for one in self.constraints if one.kind == kind and place in (None, one.place)),
            None,
        )


STOCK: Final = Constraint(kind="stock", text="the kilograms in stock")
WHOLE_BAGS: Final = Constraint(kind="whole bags", text="whole bags")
OPENED_FIRST: Final = Constraint(kind="opened first", text="opened bags before whole ones")
