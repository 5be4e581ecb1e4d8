"""What would make a recipe possible, each cure tried before it is named.

For every constraint of a conflict there is a row of changes, the smallest first; how far a limit
must move at least is worked out with broken bags.  The first change that lets the whole problem
have a recipe is named.
"""

import math
from collections.abc import Callable, Iterator, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import replace
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.blend.explain.conflict import Conflict, broken, feasible, possible, stretchable
from spc.blend.explain.figures import HAIR, rounded
from spc.blend.problem.constraints import OPENED_FIRST, WHOLE_BAGS, Constraint, Kind
from spc.blend.problem.problem import Problem
from spc.blend.problem.rules import ShareLimit
from spc.blend.problem.target import LEAST_ODDS, Window, plain
from spc.blend.search.assembly import assemble
from spc.blend.search.cone import chance_inside
from spc.blend.search.cuts import Cuts
from spc.blend.search.model import Model
from spc.blend.search.search import RELAXED_TOLERANCE, relaxation, search
from spc.errors import SearchStopped

Floats = NDArray[np.float64]
# A problem changed, what of it is left out, and the change in words.
Change = tuple[Problem, AbstractSet[Constraint], str]

ATTEMPTS: Final = 6
HALVINGS: Final = 7
# A recipe with nearly the least spread will do to say which odds can be had.
ROUGH_GAP: Final = 0.2
FEW_NODES: Final = 20
# How far a limit is moved, in ratio to the least that broken bags would need.
WIDENING: Final = (1.0, 1.05, 1.1, 1.2, 1.4, 2.0)


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
    told = [_first(_CHANGES[one.kind](problem, one)) for one in found.constraints]
    if not any(told):
        told = [_first(_limits(problem, one)) for one in _of_odds(problem, found)]
    return tuple(sentence for sentence in told if sentence)


def _of_odds(problem: Problem, found: Conflict) -> list[Constraint]:
    """Limits that odds in the conflict speak of: where no odds can be had, they must move."""
    places = {one.place for one in found.constraints if one.kind == "odds"}
    return [
        one
        for one in problem.constraints()
        if one.kind in ("at least", "at most")
        and one.place in places
        and one not in found.constraints
    ]


def _first(changes: Iterator[Change]) -> str:
    for changed, without, words in changes:
        if possible(changed, without=without):
            return f"{words[0].upper()}{words[1:]} would do."
    return ""


def _limits(problem: Problem, one: Constraint) -> Iterator[Change]:
    """Other limits of a mean, each farther than the one before."""
    window, lower = problem.windows[one.place], one.kind == "at least"
    stretched = _stretched(problem, one)
    if stretched is None:
        return
    model, point = stretched
    away = point[model.mean[one.place]] / point[model.weight[one.place]]
    reached = window.center + model.unit[one.place] * away
    limit = window.low if lower else window.high
    for widening in WIDENING:
        moved = rounded(limit + (reached - limit) * widening, up=not lower)
        if (moved >= limit) if lower else (moved <= limit):
            # With broken bags the limit is kept: it is not what stands in the way.
            return
        changed = _moved(window, moved, lower=lower)
        words = window.at_least(moved) if lower else window.at_most(moved)
        yield problem.with_window(one.place, changed), frozenset(), words


def _moved(window: Window, limit: float, *, lower: bool) -> Window:
    """The window with another limit; a target on the old one stays inside."""
    return replace(window, lower=limit) if lower else replace(window, upper=limit)


def _odds(problem: Problem, one: Constraint) -> Iterator[Change]:
    """The odds of a recipe made for odds: well inside the limits, and with little spread."""
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
        return
    if found is None:
        return
    shares = model.shares(found.point)
    chance = chance_inside(
        first.mean(shares), first.deviation(shares), lower=window.low, upper=window.high
    )
    for attempt in range(ATTEMPTS):
        odds = math.floor(100.0 * chance) / 100.0 - attempt**2 / 100.0
        if odds < LEAST_ODDS:
            return
        changed = problem.with_window(one.place, replace(window, odds=odds))
        yield changed, frozenset(), window.with_odds(odds)


def _lots(problem: Problem, _: Constraint) -> Iterator[Change]:
    allowed = problem.rules.most_lots or 0
    for attempt in range(ATTEMPTS):
        most = allowed + 2**attempt
        changed = replace(problem, rules=replace(problem.rules, most_lots=most))
        yield changed, frozenset(), f"up to {most} lots"


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
    return changed, frozenset(), limit.sentence()


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
        yield replace(problem, batch_kg=batch), frozenset(), f"a batch of {plain(batch)} kg"


def _shelf_life(problem: Problem, _: Constraint) -> Iterator[Change]:
    asked = problem.rules.shelf_life_days or 0.0
    left = {lot.expires_in_days or 0.0 for lot in problem.lots}
    for days in _spaced(sorted((each for each in left if each < asked), reverse=True)):
        changed = replace(problem, rules=replace(problem.rules, shelf_life_days=days))
        yield changed, frozenset(), f"a shelf life of {plain(days)} days"


def _result_age(problem: Problem, _: Constraint) -> Iterator[Change]:
    asked = problem.rules.most_result_age_days or 0.0
    ages = {problem.result_age(lot) for lot in problem.lots}
    for days in _spaced(sorted(each for each in ages if each > asked)):
        changed = replace(problem, rules=replace(problem.rules, most_result_age_days=days))
        yield changed, frozenset(), f"results up to {plain(days)} days old"


def _spaced(values: list[float]) -> list[float]:
    """The nearest values, then ever farther ones, and the last."""
    places = {min(2**attempt, len(values)) - 1 for attempt in range(ATTEMPTS)}
    return [values[place] for place in sorted(places | {len(values) - 1}) if place >= 0]


def _whole_bags(problem: Problem, _: Constraint) -> Iterator[Change]:
    yield problem, {WHOLE_BAGS}, "weighing out a part of a bag"


def _opened_first(problem: Problem, _: Constraint) -> Iterator[Change]:
    yield problem, {OPENED_FIRST}, "starting a bag beside an opened one"


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


_CHANGES: Final[Mapping[Kind, Callable[[Problem, Constraint], Iterator[Change]]]] = (
    MappingProxyType(
        {
            "odds": _odds,
            "each lot": _each_lot,
            "share": _share,
            "most lots": _lots,
            "opened first": _opened_first,
            "whole bags": _whole_bags,
            "result age": _result_age,
            "shelf life": _shelf_life,
            "at least": _limits,
            "at most": _limits,
            "stock": _none,
            "batch": _batch,
        }
    )
)
