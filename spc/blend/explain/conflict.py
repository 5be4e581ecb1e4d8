"""Which constraints cannot be kept together: the smallest set of them.

First the elastic filter: every limit may be stretched at a price, the ones that are stretched at
the least price are made hard, and so on until nothing can be kept; what was made hard holds a
conflict.  Then the deletion filter: each constraint is left out in turn, and for good if the others
still conflict.  What stays is irreducible: without any one of them there is a recipe.  Last, it is
replaced by a smaller conflict, or it is proven that there is none: see `smallest`.

References
----------
Chinneck, J. W. & Dravnieks, E. W. (1991), ORSA Journal on Computing 3(2), 157-168.
"""

from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from spc.blend.explain.smallest import MOST_QUESTIONS, MOST_WHOLE, Asked, smallest
from spc.blend.problem.constraints import Constraint
from spc.blend.problem.problem import Problem
from spc.blend.search.assembly import assemble
from spc.blend.search.cuts import Cuts
from spc.blend.search.model import Model, Spread
from spc.blend.search.search import RELAXED_TOLERANCE, Start, relaxation, search
from spc.blend.search.solving import Relaxation
from spc.errors import SearchStopped

Floats = NDArray[np.float64]

# Any recipe will do: the first one found ends the search.
ANY: Final = 2.0
# Odds kept to that, as a chance, are as good as kept where only feasibility is asked.
ROUGHLY: Final = 1e-4
# Of the chance of a miss that is asked, what better odds leave out.
BETTER: Final = 0.02
# Solutions whose average is tried, the last ones.
AVERAGED: Final = (1, 2, 4, 8)
# A stretch below this share of the limit's own size is rounding.
STRETCHED: Final = 1e-7
# Constraints that are bounds of columns, and cannot be stretched.
UNSTRETCHED: Final = ("stock", "whole bags", "result age", "shelf life", "opened first", "each lot")


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflict:
    """Constraints that cannot be kept together.

    Attributes
    ----------
    constraints
        None of them can be left out of the list.
    whole
        Whether bags could be broken and the conflict would be gone.
    smallest
        Whether it is proven that no smaller set conflicts, with bags broken unless `whole`.
    """

    constraints: tuple[Constraint, ...]
    whole: bool
    smallest: bool


def feasible(
    problem: Problem, *, without: AbstractSet[Constraint] = frozenset(), whole: bool
) -> bool:
    """Whether there is a recipe at all.

    Parameters
    ----------
    problem
        Lots, target and rules.
    without
        Constraints that are left out.
    whole
        Whether bags must stay whole and lots be counted.

    Returns
    -------
    bool

    Raises
    ------
    SearchStopped
        If neither was proven.
    """
    model = assemble(problem, without=without)
    aim = model.small_deviations()
    if whole:
        return search(model, aim, gap=ANY) is not None
    return relaxation(broken(model), Cuts(model), aim, tolerance=ROUGHLY) is not None


def excluded(
    problem: Problem, *, without: AbstractSet[Constraint] = frozenset(), whole: bool
) -> bool:
    """Whether it is proven that there is no recipe: False too where that was not settled."""
    try:
        return not feasible(problem, without=without, whole=whole)
    except SearchStopped:
        return False


def possible(problem: Problem, *, without: AbstractSet[Constraint] = frozenset()) -> bool:
    """Whether a recipe was found, bags whole: False too where that was not settled."""
    try:
        return feasible(problem, without=without, whole=True)
    except SearchStopped:
        return False


def broken(model: Model) -> Model:
    """The model whose whole numbers may be broken."""
    return replace(model, whole=np.zeros_like(model.whole))


def conflict(problem: Problem) -> Conflict:
    """The smallest set of constraints that cannot be kept together.

    Parameters
    ----------
    problem
        One without a recipe.

    Returns
    -------
    Conflict

    Notes
    -----
    Where it was not settled whether the others conflict without a constraint, it stays.  Where it
    was not settled whether a smaller set conflicts, the set is irreducible only.
    """
    every = problem.constraints()
    whole = feasible(problem, whole=False)
    suspects: Sequence[Constraint] = every
    if not whole:
        hard = _elastic(problem)
        suspects = [one for one in every if one in hard or one.kind in UNSTRETCHED]
    asked = Asked(
        answer=lambda some: _kept(problem, some, whole=whole),
        most=MOST_WHOLE if whole else MOST_QUESTIONS,
    )
    found, proven = smallest(every, _irreducible(problem, suspects, whole=whole), asked)
    if whole:
        return Conflict(constraints=found, whole=True, smallest=proven)
    # With lots that may count in part a small batch needs few of them; with whole ones it does not.
    smaller = tuple(one for one in found if one.kind != "batch")
    others = set(every) - set(smaller)
    if 0 < len(smaller) < len(found) and excluded(problem, without=others, whole=True):
        found = smaller
    return Conflict(constraints=found, whole=False, smallest=proven)


def stretchable(
    problem: Problem, model: Model, soft: AbstractSet[Constraint]
) -> tuple[Model, Floats, list[int]]:
    """A model whose rows may be stretched.

    Parameters
    ----------
    problem, model
        Windows, rows and columns.
    soft
        Constraints whose rows may be.

    Returns
    -------
    Model
        With a column for each stretch.
    array of shape (columns,)
        The price of each: 1 for half the width of a window, for all of the batch, for a lot.
    list of int
        Rows that the stretches belong to, in the order of the last columns.
    """
    rows = [row for row, one in enumerate(model.constraints) if one is not None and one in soft]
    sign = np.where(np.isfinite(model.row_lower[rows]), 1.0, -1.0)
    size = np.array([_size(problem, model, model.constraints[row]) for row in rows])
    added = sparse.csr_array(
        (sign * size, (rows, range(len(rows)))), shape=(model.matrix.shape[0], len(rows))
    )
    width = model.lower.size
    grown = replace(
        model,
        matrix=sparse.hstack((model.matrix, added), format="csr"),
        lower=np.append(model.lower, np.zeros(len(rows))),
        upper=np.append(model.upper, np.full(len(rows), np.inf)),
        whole=np.append(model.whole, np.zeros(len(rows), dtype=np.bool_)),
    )
    return grown, np.append(np.zeros(width), np.ones(len(rows))), rows


def _size(problem: Problem, model: Model, constraint: Constraint | None) -> float:
    if constraint is None or constraint.kind not in ("at least", "at most", "odds"):
        return 1.0
    return float(problem.windows[constraint.place].scale / model.unit[constraint.place])


def _elastic(problem: Problem) -> set[Constraint]:
    """Constraints among which there is a conflict, bounds left aside.

    Odds are not stretched, since tangents that cut them off hold them hard: they are either left
    out, or hard from the start.
    """
    odds = {one for one in problem.constraints() if one.kind == "odds"}
    hard = odds if feasible(problem, without=odds, whole=False) else set()
    model = broken(assemble(problem, without=odds - hard))
    every = {one for one in model.constraints if one is not None}
    while hard < every:
        grown, price, rows = stretchable(problem, model, every - hard)
        found = relaxation(grown, Cuts(grown), price, tolerance=RELAXED_TOLERANCE)
        if found is None:
            return hard
        stretch = found.point[model.lower.size :]
        named = [model.constraints[rows[place]] for place in np.flatnonzero(stretch > STRETCHED)]
        stretched = {one for one in named if one is not None}
        if not stretched:
            return every
        hard = hard | stretched
    return hard


def _kept(problem: Problem, some: AbstractSet[Constraint], *, whole: bool) -> bool:
    """Whether these can be kept together, broken bags not taken at their word."""
    others = set(problem.constraints()) - some
    if whole:
        return feasible(problem, without=others, whole=True)
    model = broken(assemble(problem, without=others))
    aim = model.small_deviations()
    if _easily_kept(model, aim):
        return True
    cuts = Cuts(model)
    found = relaxation(model, cuts, aim, tolerance=ROUGHLY)
    if found is None:
        return False
    if _keeps(model, found.point):
        return True
    return search(model, aim, gap=ANY, start=Start(cuts=cuts)) is not None


def _easily_kept(model: Model, aim: Floats) -> bool:
    """Whether tangents of odds a little better than asked lead to a point that keeps those asked.

    Of hundreds of lots in small portions the tangents settle slowly.  But each solution on the way
    keeps all the rest, and so does their average, which is spread over more lots.
    """
    stricter = replace(model, spreads=tuple(_stricter(spread) for spread in model.spreads))
    points: list[Floats] = []

    def enough(found: Relaxation) -> bool:
        points.append(found.point)
        return any(_keeps(model, np.mean(points[-last:], axis=0)) for last in AVERAGED)

    found = relaxation(stricter, Cuts(stricter), aim, tolerance=0.0, enough=enough)
    return found is not None and enough(found)


def _stricter(spread: Spread) -> Spread:
    odds = spread.admissible.odds
    better = replace(spread.admissible, odds=odds + BETTER * (1.0 - odds))
    return replace(spread, admissible=better)


def _keeps(model: Model, point: Floats) -> bool:
    shares = model.shares(point)
    return all(spread.keeps(shares, tolerance=ROUGHLY) for spread in model.spreads)


def _irreducible(
    problem: Problem, suspects: Sequence[Constraint], *, whole: bool
) -> tuple[Constraint, ...]:
    kept = list(suspects)
    every = set(problem.constraints())
    for one in suspects:
        others = [each for each in kept if each != one]
        if excluded(problem, without=every - set(others), whole=whole):
            kept = others
    return tuple(kept)
