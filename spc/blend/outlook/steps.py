"""What one stated step of a limit saves: the order solved anew with the limit eased by it.

A price of the relaxation holds for a small change and for broken bags; a step of the size that
a person would take, in whole bags, may save half of it, or nothing.  So the prices only say which
limits to try.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final

from spc.blend.explain.figures import HAIR
from spc.blend.problem.constraints import Constraint, Kind
from spc.blend.problem.problem import Problem
from spc.blend.problem.rules import ShareLimit
from spc.blend.problem.target import LEAST_ODDS, plain
from spc.blend.recipe import DEFAULT_GAP, Recipe
from spc.blend.search.optimum import optimum
from spc.errors import SearchStopped

# Of a limit, and of a batch.
LIMIT_STEP: Final = 0.01
BATCH_STEP: Final = 0.1
PERCENT: Final = 0.01
# A problem with one limit eased, and the step in words.
Eased = tuple[Problem, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One limit eased by a stated step, and what the best recipe then saves.

    Attributes
    ----------
    constraint
        The limit in words; of stock, the lot.
    step
        The step in words, such as ``"one lot more"``.
    saved
        Of the cost of the batch; negative where the step costs more, as a larger batch does.
    least, most
        Between which the saving lies, by what both proofs leave open.
    """

    constraint: str
    step: str
    saved: float
    least: float
    most: float


def steps(made: Recipe, *, gap: float = DEFAULT_GAP) -> tuple[Step, ...]:
    """What a step of each limit that holds the cost up would save, the largest first.

    Parameters
    ----------
    made
        A recipe made for the least cost.
    gap
        Relative distance from the optimum that need not be closed.

    Returns
    -------
    tuple of Step
        Only what is more than the proofs leave open; none for a recipe made for another aim.
    """
    if made.aim != "cost":
        return ()
    tried = (_step(made, text, eased, gap) for text, eased in eased_orders(made))
    found = [one for one in tried if one is not None and (one.least > 0.0 or one.most < 0.0)]
    return tuple(sorted(found, key=lambda one: -abs(one.saved)))


def eased_orders(made: Recipe) -> list[tuple[str, Eased]]:
    """Each limit that may hold the cost up, with the order that has it eased by its step.

    Parameters
    ----------
    made
        A recipe made for the least cost.

    Returns
    -------
    list of tuple
        The limit in words, the order, and the step in words.
    """
    problem = made.problem
    known = {one.text: one for one in problem.constraints()}
    priced = {one.constraint: one.per_unit for one in made.shadow_prices}
    # Broken bags in any number of parts may not need another lot where whole ones do.
    priced |= {text: 0.0 for text, one in known.items() if one.kind == "most lots"}
    found = (
        (
            text,
            _more_stock(problem, text)
            if text not in known
            else _EASED[known[text].kind](problem, known[text], per_unit),
        )
        for text, per_unit in priced.items()
    )
    return [(text, eased) for text, eased in found if eased is not None]


def _step(made: Recipe, constraint: str, eased: Eased, gap: float) -> Step | None:
    changed, words = eased
    try:
        then = optimum(changed, aim="cost", gap=gap)
    except SearchStopped:
        # Nothing is proven of it, so nothing is said.
        return None
    if then is None:
        # A larger batch may have no recipe.
        return None
    before, after = made.problem.batch_kg, changed.batch_kg
    return Step(
        constraint=constraint,
        step=words,
        saved=before * made.value - after * then.value,
        least=before * made.bound - after * then.value,
        most=before * made.value - after * then.bound,
    )


def _eased_odds(problem: Problem, one: Constraint, _: float) -> Eased | None:
    window = problem.windows[one.place]
    odds = round((window.odds or 0.0) - PERCENT, 12)
    if odds < LEAST_ODDS:
        return None
    return problem.with_window(one.place, replace(window, odds=odds)), "one percentage point less"


def _lowered(problem: Problem, one: Constraint, _: float) -> Eased:
    window = problem.windows[one.place]
    step = _one_digit(LIMIT_STEP * abs(window.low) or LIMIT_STEP * window.scale)
    changed = replace(window, lower=window.low - step)
    return problem.with_window(one.place, changed), f"{plain(step)} {window.unit} lower"


def _raised(problem: Problem, one: Constraint, _: float) -> Eased:
    window = problem.windows[one.place]
    step = _one_digit(LIMIT_STEP * abs(window.high) or LIMIT_STEP * window.scale)
    changed = replace(window, upper=window.high + step)
    return problem.with_window(one.place, changed), f"{plain(step)} {window.unit} higher"


def _eased_share(problem: Problem, one: Constraint, per_unit: float) -> Eased | None:
    limit = problem.rules.shares[one.place]
    if per_unit > 0.0:
        least = max(0.0, round(limit.least - PERCENT, 12))
        return _with_share(problem, one.place, replace(limit, least=least), "less")
    most = min(1.0, round(limit.most + PERCENT, 12))
    return _with_share(problem, one.place, replace(limit, most=most), "more")


def _with_share(problem: Problem, place: int, limit: ShareLimit, way: str) -> Eased:
    shares = list(problem.rules.shares)
    shares[place] = limit
    changed = replace(problem, rules=replace(problem.rules, shares=shares))
    return changed, f"one percentage point {way}"


def _one_lot_more(problem: Problem, _: Constraint, __: float) -> Eased:
    most = (problem.rules.most_lots or 0) + 1
    return replace(problem, rules=replace(problem.rules, most_lots=most)), "one lot more"


def _larger_batch(problem: Problem, _: Constraint, __: float) -> Eased:
    step = _one_digit(BATCH_STEP * problem.batch_kg)
    return replace(problem, batch_kg=problem.batch_kg + step), f"{plain(step)} kg more"


def _none(_: Problem, __: Constraint, ___: float) -> None:
    """What is a rule of handling has no step."""


def _more_stock(problem: Problem, text: str) -> Eased:
    """One bag more of a lot, or one kilogram of one that has no bags."""
    lots = list(problem.lots)
    place = next(i for i, lot in enumerate(lots) if text == f"lot {lot.code} in stock")
    lot = lots[place]
    step = lot.bag_kg or 1.0
    lots[place] = replace(lot, available_kg=lot.available_kg + step)
    words = f"one bag of {plain(step)} kg more" if lot.bag_kg else "one kilogram more"
    return replace(problem, lots=tuple(lots)), words


def _one_digit(value: float) -> float:
    """The value to one digit: a step that a person would name."""
    size = 10.0 ** math.floor(math.log10(value) + HAIR)
    return round(value / size) * size if size >= 1.0 else round(value, -round(math.log10(size)))


_EASED: Final[Mapping[Kind, Callable[[Problem, Constraint, float], Eased | None]]] = (
    MappingProxyType(
        {
            "odds": _eased_odds,
            "at least": _lowered,
            "at most": _raised,
            "share": _eased_share,
            "most lots": _one_lot_more,
            "batch": _larger_batch,
            "each lot": _none,
            "opened first": _none,
            "whole bags": _none,
            "result age": _none,
            "shelf life": _none,
            "stock": _none,
        }
    )
)
