"""What would make odds possible: the nearest lower ones, or the window wider by as little as helps.

The fewer odds are asked, and the wider the window, the more recipes there are; so what is enough
is looked for by halves.
"""

import math
from collections.abc import Callable, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import replace
from itertools import pairwise
from typing import Final

import numpy as np

from spc.blend.explain.conflict import possible
from spc.blend.explain.figures import HAIR, rounded
from spc.blend.problem.constraints import Constraint
from spc.blend.problem.problem import Problem
from spc.blend.problem.target import LEAST_ODDS, Window
from spc.blend.search.assembly import assemble
from spc.blend.search.cone import chance_inside
from spc.blend.search.search import search
from spc.errors import SearchStopped

# A problem changed, what of it is left out, and what is said if it has a recipe.
Change = tuple[Problem, AbstractSet[Constraint], str]

ATTEMPTS: Final = 6
# A recipe with nearly the least spread will do to say which odds can be had.
ROUGH_GAP: Final = 0.2
FEW_NODES: Final = 20
# How far a limit is moved for the sake of odds, in half-widths of its window.
WIDENED_BY: Final = (0.0, 0.1, 0.3, 1.0, 3.0)
HALVINGS: Final = 3


def would_do(words: str) -> str:
    """The sentence for a change that lets there be a recipe."""
    return f"{words[0].upper()}{words[1:]} would do."


def moved_window(window: Window, limit: float, *, lower: bool) -> Window:
    """The window with another limit; a target on the old one stays inside."""
    return replace(window, lower=limit) if lower else replace(window, upper=limit)


def lower_odds(problem: Problem, one: Constraint) -> str:
    """The highest odds that can be had, looked for from those of a recipe made for odds.

    That one lies well inside the limits, and has little spread.
    """
    window, others = problem.windows[one.place], list(problem.mixings)
    first = others.pop(one.place)
    quarter = (window.high - window.low) / 4.0
    inner = replace(window, odds=None)
    if math.isfinite(quarter):
        inner = replace(inner, lower=window.low + quarter, upper=window.high - quarter, target=None)
    eased = replace(problem, mixings=(replace(first, window=inner), *others))
    model = assemble(eased, aim="least spread")
    aim = model.aim
    if not math.isfinite(quarter):
        aim = np.zeros(model.lower.size)
        aim[model.mean[0]] = -1.0 if window.upper is None else 1.0
    try:
        found = search(model, aim, gap=ROUGH_GAP, nodes=FEW_NODES)
    except SearchStopped:
        # No odds are named that were not reached.
        return ""
    if found is None:
        return ""
    shares = model.shares(found.point)
    chance = chance_inside(
        first.mean(shares), first.deviation(shares), lower=window.low, upper=window.high
    )
    had = _had(problem, one.place, math.floor(100.0 * chance))
    if had is None:
        return ""
    short = math.ceil(100.0 * (window.odds or 0.0) - HAIR)
    while short - had > 1:
        middle = (short + had) // 2
        short, had = (
            (short, middle) if possible(_with_odds(problem, one.place, middle)) else (middle, had)
        )
    return would_do(window.with_odds(had / 100.0))


def _had(problem: Problem, place: int, most: int) -> int | None:
    """Odds, in per cent, that can be had: the first of ever lower ones; None if not even those."""
    asked = problem.windows[place].odds or 0.0
    for attempt in range(ATTEMPTS):
        odds = min(most, math.ceil(100.0 * asked - HAIR) - 1) - attempt**2
        if odds < 100.0 * LEAST_ODDS:
            return None
        if possible(_with_odds(problem, place, odds)):
            return odds
    return None


def _with_odds(problem: Problem, place: int, per_cent: int) -> Problem:
    return problem.with_window(place, replace(problem.windows[place], odds=per_cent / 100.0))


def around_odds(problem: Problem, one: Constraint) -> str:
    """The limit moved as little as the odds need."""
    window, lower = problem.windows[one.place], one.kind == "at least"

    def wider(by: float) -> Change:
        limit = window.low - by if lower else window.high + by
        moved = rounded(limit, up=not lower)
        words = window.at_least(moved) if lower else window.at_most(moved)
        changed = problem.with_window(one.place, moved_window(window, moved, lower=lower))
        return changed, frozenset(), would_do(words)

    return nearest(wider, [by * window.scale for by in WIDENED_BY])


def both_limits(problem: Problem, place: int) -> str:
    """Both limits moved by the same amount, where one alone is not enough."""
    window = problem.windows[place]
    if window.lower is None or window.upper is None:
        return ""
    low, high = window.lower, window.upper

    def wider(by: float) -> Change:
        lower, upper = rounded(low - by, up=False), rounded(high + by, up=True)
        changed = problem.with_window(place, replace(window, lower=lower, upper=upper))
        words = f"{window.characteristic} of {window.amount(lower)} to {window.amount(upper)}"
        return changed, frozenset(), would_do(words)

    return nearest(wider, [by * window.scale for by in WIDENED_BY])


def nearest(
    moved: Callable[[float], Change], farther: Sequence[float], *, halvings: int = HALVINGS
) -> str:
    """What is said of the smallest move of a limit that lets there be a recipe.

    Parameters
    ----------
    moved
        The change by so much.
    farther
        Moves in rising order, each tried but the first; between the one that is enough and the one
        before it the nearest is then looked for by halves.
    halvings
        How often.

    Returns
    -------
    str
        Empty if none of the moves is enough.
    """
    tried = ((short, by) for short, by in pairwise(farther) if possible(moved(by)[0]))
    short, enough = next(tried, (math.nan, math.nan))
    if math.isnan(enough):
        return ""
    for _ in range(halvings):
        middle = (short + enough) / 2.0
        short, enough = (short, middle) if possible(moved(middle)[0]) else (middle, enough)
    return moved(enough)[2]
