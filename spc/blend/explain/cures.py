"""What would make a recipe possible, each cure tried before it is named.

For every constraint of a conflict there is a row of changes, the smallest first; how far a limit
must move at least is worked out with broken bags.  The first change that lets the whole problem
have a recipe is named.
"""

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.blend.explain.conflict import Conflict, broken, feasible, possible, stretchable
from spc.blend.explain.figures import HAIR, rounded
from spc.blend.explain.odds_cures import (
    Change,
    around_odds,
    both_limits,
    lower_odds,
    moved_window,
    nearest,
    would_do,
)
from spc.blend.problem.constraints import OPENED_FIRST, WHOLE_BAGS, Constraint, Kind
from spc.blend.problem.problem import Problem
from spc.blend.problem.rules import ShareLimit
from spc.blend.problem.target import Window, plain
from spc.blend.search.assembly import assemble
from spc.blend.search.cuts import Cuts
from spc.blend.search.model import Model
from spc.blend.search.search import RELAXED_TOLERANCE, relaxation

Floats = NDArray[np.float64]
ATTEMPTS: Final = 6
HALVINGS: Final = 7
# How far a share is moved, in ratio to the least that broken bags would need.
WIDENING: Final = (1.0, 1.05, 1.1, 1.2, 1.4, 2.0)
# How far beyond what broken bags reach a limit is moved, as a share of that.
BEYOND_REACH: Final = (0.0, 0.005, 0.02, 0.05, 0.1, 0.2, 0.4)
REACH_HALVINGS: Final = 5
# A limit moved by more than this share of itself is another order, no cure.
FARTHEST: Final = 0.25


def cures(problem: Problem, found: Conflict) -> tuple[str, ...]:
    """Sentences that say what would make a recipe possible.

    Parameters
    ----------
    problem
        One without a recipe.
    found
        Its conflict.

    Returns
    -------
    tuple of str
        Each was tried; none if nothing short of several changes at once would help.
    """
    told = [_cure(problem, one) for one in found.constraints]
    told += [around_odds(problem, one) for one in _of_odds(problem, found)]
    if not any(told):
        told = [both_limits(problem, place) for place in _places_of_odds(found)]
    return tuple(sentence for sentence in told if sentence)


def _cure(problem: Problem, one: Constraint) -> str:
    """What of one constraint would do, tried; empty if nothing was found."""
    if one.kind in _LOOKED_FOR:
        return _LOOKED_FOR[one.kind](problem, one)
    return _first(_CHANGES[one.kind](problem, one))


def _places_of_odds(found: Conflict) -> list[int]:
    return sorted({one.place for one in found.constraints if one.kind == "odds"})


def _of_odds(problem: Problem, found: Conflict) -> list[Constraint]:
    """Limits that odds in the conflict speak of: a wider window has better odds."""
    places = _places_of_odds(found)
    return [
        one
        for one in problem.constraints()
        if one.kind in ("at least", "at most")
        and one.place in places
        and one not in found.constraints
    ]


def _first(changes: Iterator[Change]) -> str:
    for changed, without, sentence in changes:
        if possible(changed, without=without):
            return sentence
    return ""


def _limits(problem: Problem, one: Constraint) -> str:
    """Another limit of a mean: as near to the one asked for as the rest allows."""
    window, lower = problem.windows[one.place], one.kind == "at least"
    stretched = _stretched(problem, one)
    if stretched is None:
        return ""
    model, point = stretched
    away = point[model.mean[one.place]] / point[model.weight[one.place]]
    reached = window.center + model.unit[one.place] * away
    limit = window.low if lower else window.high
    if (reached >= limit) if lower else (reached <= limit):
        # With broken bags the limit is kept: it is not what stands in the way.
        return ""

    def beyond(by: float) -> Change:
        moved = rounded(reached - by if lower else reached + by, up=not lower)
        changed = problem.with_window(one.place, moved_window(window, moved, lower=lower))
        return changed, frozenset(), _reached(window, moved, lower=lower)

    at_once = beyond(0.0)
    if possible(at_once[0]):
        return at_once[2]
    # Whole bags and odds ask for a little more, which is a share of the value and not of the way.
    size = abs(reached) or window.scale
    return nearest(beyond, [by * size for by in BEYOND_REACH], halvings=REACH_HALVINGS)


def _reached(window: Window, moved: float, *, lower: bool) -> str:
    """A limit that would do; one far from what was asked is another order, and told as that."""
    limit, words, no_more = (
        (window.low, window.at_least(moved), "no higher")
        if lower
        else (window.high, window.at_most(moved), "no lower")
    )
    if abs(moved - limit) > FARTHEST * abs(limit):
        return f"All else kept, the lots on offer reach {words}, {no_more}."
    return would_do(words)


def _lots(problem: Problem, _: Constraint) -> Iterator[Change]:
    allowed = problem.rules.most_lots or 0
    for attempt in range(ATTEMPTS):
        most = allowed + 2**attempt
        changed = replace(problem, rules=replace(problem.rules, most_lots=most))
        yield changed, frozenset(), would_do(f"up to {most} lots")


def _each_lot(problem: Problem, one: Constraint) -> Iterator[Change]:
    """Wider limits of each lot: as little wider as broken bags allow, and then ever more."""
    limit = problem.rules.shares[one.place]

    def wider(part: float) -> Change:
        least = math.floor(100.0 * limit.least * (1.0 - part) + HAIR) / 100.0
        most = math.ceil(100.0 * (limit.most + (1.0 - limit.most) * part) - HAIR) / 100.0
        return _with_share(problem, one.place, replace(limit, least=least, most=min(most, 1.0)))

    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        kept = feasible(wider(middle)[0], whole=False)
        low, high = (low, middle) if kept else (middle, high)
    for widening in WIDENING:
        yield wider(min(high * widening, 1.0))
    yield wider(1.0)


def _share(problem: Problem, one: Constraint) -> Iterator[Change]:
    """Other limits of share; the one that is in the way moves to where the rest can be kept."""
    limit = problem.rules.shares[one.place]
    stretched = _stretched(problem, one)
    if stretched is None:
        return
    model, point = stretched
    taken = float(model.shares(point) @ problem.members(limit) / point[model.total])
    for widening in WIDENING:
        if taken < limit.least:
            least = limit.least - (limit.least - taken) * widening
            changed = replace(limit, least=max(0.0, math.floor(100.0 * least + HAIR) / 100.0))
        else:
            most = limit.most + (taken - limit.most) * widening
            changed = replace(limit, most=min(1.0, math.ceil(100.0 * most - HAIR) / 100.0))
        yield _with_share(problem, one.place, changed)


def _with_share(problem: Problem, place: int, limit: ShareLimit) -> Change:
    shares = list(problem.rules.shares)
    shares[place] = limit
    changed = replace(problem, rules=replace(problem.rules, shares=shares))
    return changed, frozenset(), would_do(limit.sentence())


def _batch(problem: Problem, one: Constraint) -> Iterator[Change]:
    """Smaller batches."""
    model = broken(assemble(problem, without={one}))
    smaller = -np.eye(1, model.lower.size, model.total).ravel()
    found = relaxation(model, Cuts(model), smaller, tolerance=RELAXED_TOLERANCE)
    if found is None:
        return
    for attempt in range(ATTEMPTS):
        size = problem.batch_kg * float(found.point[model.total]) * (1.0 - 0.05 * attempt)
        batch = rounded(size, up=False)
        yield (
            replace(problem, batch_kg=batch),
            frozenset(),
            would_do(f"a batch of {plain(batch)} kg"),
        )


def _shelf_life(problem: Problem, _: Constraint) -> Iterator[Change]:
    asked = problem.rules.shelf_life_days or 0.0
    left = {lot.expires_in_days or 0.0 for lot in problem.lots}
    for days in _spaced(sorted((each for each in left if each < asked), reverse=True)):
        changed = replace(problem, rules=replace(problem.rules, shelf_life_days=days))
        yield changed, frozenset(), would_do(f"a shelf life of {plain(days)} days")


def _result_age(problem: Problem, _: Constraint) -> Iterator[Change]:
    asked = problem.rules.most_result_age_days or 0.0
    ages = {problem.result_age(lot) for lot in problem.lots}
    for days in _spaced(sorted(each for each in ages if each > asked)):
        changed = replace(problem, rules=replace(problem.rules, most_result_age_days=days))
        yield changed, frozenset(), would_do(f"results up to {plain(days)} days old")


def _spaced(values: list[float]) -> list[float]:
    """The nearest values, then ever farther ones, and the last."""
    places = {min(2**attempt, len(values)) - 1 for attempt in range(ATTEMPTS)}
    return [values[place] for place in sorted(places | {len(values) - 1}) if place >= 0]


def _whole_bags(problem: Problem, _: Constraint) -> Iterator[Change]:
    yield problem, {WHOLE_BAGS}, would_do("weighing out a part of a bag")


def _opened_first(problem: Problem, _: Constraint) -> Iterator[Change]:
    yield problem, {OPENED_FIRST}, would_do("starting a bag beside an opened one")


def _none(_: Problem, __: Constraint) -> Iterator[Change]:
    """Stock is cured by a purchase."""
    return iter(())


def _stretched(problem: Problem, one: Constraint) -> tuple[Model, Floats] | None:
    """The point at which everything else is kept and this is stretched least, bags broken.

    The odds of a window are left aside while one of its limits moves: they move with it.
    """
    beside = {
        each for each in problem.constraints() if each.kind == "odds" and each.place == one.place
    }
    limits = one.kind in ("at least", "at most")
    model = broken(assemble(problem, without=beside if limits else frozenset()))
    grown, price, _ = stretchable(problem, model, {one})
    found = relaxation(grown, Cuts(grown), price, tolerance=RELAXED_TOLERANCE)
    return None if found is None else (model, found.point)


_LOOKED_FOR: Final[Mapping[Kind, Callable[[Problem, Constraint], str]]] = MappingProxyType(
    {"odds": lower_odds, "at least": _limits, "at most": _limits}
)
_CHANGES: Final[Mapping[Kind, Callable[[Problem, Constraint], Iterator[Change]]]] = (
    MappingProxyType(
        {
            "each lot": _each_lot,
            "share": _share,
            "most lots": _lots,
            "opened first": _opened_first,
            "whole bags": _whole_bags,
            "result age": _result_age,
            "shelf life": _shelf_life,
            "stock": _none,
            "batch": _batch,
        }
    )
)
