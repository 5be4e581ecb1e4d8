"""Readings in nested groups: who belongs to whom, and which levels can be told apart."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.charts.refusals import ROUNDING, refuse_unfinished
from spc.compare.spread.group_codes import coded
from spc.errors import InvalidInput

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

# A direction of the fixed factor that keeps less than this share of itself is taken up.
TAKEN_UP: Final = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NestedLayout:
    """Readings reduced to what the likelihood of nested levels needs.

    Attributes
    ----------
    names
        Of the levels, outermost first, and last of what is left within the innermost.
    groups
        Groups of each level; of the last, readings.
    degrees
        Degrees of freedom of each: what it adds to the levels around it and the fixed factor.
    reasons
        Why nothing can be said of a level; empty where something can.
    first, members
        For each level that can be told, outermost first: index of the first of its groups within
        each group of the level around it, and how many there are.
    readings : shape (innermost groups,)
        Readings of each innermost group that can be told.
    means : shape (columns, innermost groups)
        Means there: of the fixed factor's columns, and last of the values.
    within : shape (columns, columns)
        Sums of squares and products about those means.
    center, scale
        What was taken from the values, and what they were then divided by.
    """

    names: tuple[str, ...]
    groups: Integers
    degrees: Integers
    reasons: tuple[str, ...]
    first: tuple[Integers, ...]
    members: tuple[Integers, ...]
    readings: Integers
    means: Floats
    within: Floats
    center: float
    scale: float

    @property
    def size(self) -> int:
        """Number of readings."""
        return int(self.readings.sum())

    @property
    def contrasts(self) -> int:
        """Number of the fixed factor's columns."""
        return len(self.means) - 1

    @property
    def mean_square(self) -> float:
        """Of the residual: what neither the groups nor the fixed factor explain, a degree."""
        products = self.within
        slopes = np.linalg.pinv(products[:-1, :-1], rcond=TAKEN_UP, hermitian=True)
        explained = products[-1, :-1] @ slopes @ products[:-1, -1]
        return float(products[-1, -1] - explained) / float(self.degrees[-1])

    @property
    def told(self) -> Integers:
        """Positions in `names` of the components that can be told apart."""
        return np.flatnonzero([not reason for reason in self.reasons])


def nested_layout(
    values: Floats, levels: Mapping[str, ArrayLike], contrasts: Floats, *, residual: str
) -> NestedLayout:
    """Lay readings out in their groups and find out which levels can be told apart.

    Parameters
    ----------
    values : shape (readings,)
        Finite, any unit.
    levels
        Codes of each level, shape (readings,), outermost first; a code means something within
        its group of the level around it only.
    contrasts : shape (columns, readings)
        Columns of the fixed factor beside the mean; none without one.
    residual
        What the readings within an innermost group are called.

    Returns
    -------
    NestedLayout

    Raises
    ------
    InvalidInput
        If lengths differ, a name is given twice, a value is not finite, there are no more
        readings than fixed effects, or the readings within the innermost groups are all equal.
    """
    _check(values, levels, residual)
    group, parts = _partitions(values.size, levels)
    order = np.argsort(group[-1], kind="stable")
    center = float(values.mean())
    scale = float(values.std()) or 1.0
    table = np.vstack((contrasts, (values - center) / scale))[:, order]
    starts = [_begins(one[order]) for one in group]
    taken = [_taken_up(table[:-1], one) for one in starts]
    degrees = np.diff([*(p + t for p, t in zip(parts, taken, strict=True)), values.size])
    if values.size <= 1 + taken[0]:
        raise _refused(
            f"{values.size} readings leave nothing beside {1 + taken[0]} fixed effects.",
            "Give more readings, or leave out the fixed factor.",
        )
    names = (*levels, residual)
    reasons = _reasons(names, np.array([*parts[1:], values.size]), degrees)
    kept = [0, *(level for level in range(1, len(names)) if not reasons[level - 1])]
    first = tuple(np.searchsorted(starts[inner], starts[outer]) for outer, inner in pairwise(kept))
    means, within = _reduced(table, starts[kept[-1]])
    layout = NestedLayout(
        names=names,
        groups=np.array([*parts[1:], values.size]),
        degrees=_pooled(degrees, reasons),
        reasons=reasons,
        first=first,
        members=tuple(
            np.diff(one, append=starts[inner].size)
            for one, inner in zip(first, kept[1:], strict=True)
        ),
        readings=np.diff(starts[kept[-1]], append=values.size),
        means=means,
        within=within,
        center=center,
        scale=scale,
    )
    _refuse_copies(layout, float(np.abs(values).max()) / scale)
    return layout


def _check(values: Floats, levels: Mapping[str, ArrayLike], residual: str) -> None:
    if values.ndim != 1 or values.size < 2:
        raise _refused("there are fewer than two readings in a row.", "Give one value a reading.")
    refuse_unfinished(values, where="components")
    if residual in levels:
        raise _refused(f"{residual} is given twice.", "Give each level its own name.")


def _partitions(size: int, levels: Mapping[str, ArrayLike]) -> tuple[list[Integers], list[int]]:
    """Group of each reading, and number of groups: all in one, then level by level inwards."""
    group, parts = [np.zeros(size, dtype=np.int64)], [1]
    for name, codes in levels.items():
        known, code = coded(codes, size, name=name, where="components")
        both = group[-1] * len(known) + code
        groups, inner = np.unique(both, return_inverse=True)
        group.append(inner.astype(np.int64))
        parts.append(groups.size)
    return group, parts


def _begins(group: Integers) -> Integers:
    return np.flatnonzero(np.diff(group, prepend=-1))


def _taken_up(columns: Floats, starts: Integers) -> int:
    """How many directions of the fixed factor differ within these groups."""
    if not columns.size:
        return 0
    _, within = _reduced(columns, starts)
    size = np.square(columns).sum()
    return int((np.linalg.eigvalsh(within) > TAKEN_UP * size).sum())


def _reduced(table: Floats, starts: Integers) -> tuple[Floats, Floats]:
    """Means of each group, and sums of squares and products about them."""
    readings = np.diff(starts, append=table.shape[1])
    means = np.add.reduceat(table, starts, axis=1) / readings
    off = table - np.repeat(means, readings, axis=1)
    return means, off @ off.T


def _reasons(names: Sequence[str], groups: Integers, degrees: Integers) -> tuple[str, ...]:
    """Why nothing can be said of each level, from the innermost outwards."""
    reasons = [""] * len(names)
    left = int(degrees[-1])
    for level in range(len(names) - 2, -1, -1):
        if left == 0:
            reasons[level] = (
                f"what tells one {names[level]} from another cannot be told from"
                f" {names[-1]}, which holds both"
            )
            left = int(degrees[level])
    for level in range(len(names) - 1):
        if degrees[level] == 0 and not reasons[level]:
            reasons[level] = _confounded(names, groups, level)
    return tuple(reasons)


def _confounded(names: Sequence[str], groups: Integers, level: int) -> str:
    if groups[level] == 1:
        return f"there is only one {names[level]}"
    if level and groups[level] == groups[level - 1]:
        return f"every {names[level - 1]} has one {names[level]}, and {names[level - 1]} holds both"
    return f"what tells one {names[level]} from another is taken up by the fixed factor"


def _pooled(degrees: Integers, reasons: Sequence[str]) -> Integers:
    """Degrees of freedom with those of levels that the residual holds moved to it."""
    held = np.array([bool(reason) for reason in reasons])
    pooled = np.where(held, 0, degrees)
    pooled[-1] += degrees[held].sum()
    return pooled


def _refuse_copies(layout: NestedLayout, largest: float) -> None:
    """Without any spread within the innermost groups the likelihood has no maximum."""
    if layout.mean_square <= (ROUNDING * max(largest, 1.0)) ** 2:
        raise _refused(
            f"the values of {layout.names[-1]} never differ within their group.",
            "Check whether they were copied or rounded; without a spread nothing can be compared.",
        )


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="components", remedy=remedy)
