"""What one more test of a lot would buy."""

import math
from dataclasses import dataclass, replace

import numpy as np

from spc.blend.problem.mixing import Mixing
from spc.blend.problem.problem import Problem
from spc.blend.recipe import DEFAULT_GAP, Recipe
from spc.blend.search.cone import chance_inside
from spc.blend.search.optimum import optimum
from spc.errors import InvalidInput


@dataclass(frozen=True, slots=True, kw_only=True)
class OneMoreTest:
    """One more test of one lot of a recipe.

    Attributes
    ----------
    lot
        The lot that is tested once more.
    variance_share
        Share of the blend's variance that its own uncertainty makes now.
    deviation, deviation_then
        Standard deviation of the blend, now and if the test confirms the lot's mean.
    odds, odds_then
        Of the characteristic, of this recipe, now and then.
    cost_per_kg, cost_per_kg_then
        Of this recipe, and of the best one then; never above it.
    """

    lot: str
    variance_share: float
    deviation: float
    deviation_then: float
    odds: float
    odds_then: float
    cost_per_kg: float
    cost_per_kg_then: float


def one_more_test(
    made: Recipe, characteristic: str, *, most: int = 3, gap: float = DEFAULT_GAP
) -> tuple[OneMoreTest, ...]:
    """What another test of each lot of a recipe would buy, the most useful lot first.

    Parameters
    ----------
    made
        The recipe, made for the least cost.
    characteristic
        That would be tested.
    most
        Number of lots, those with the largest shares of the variance, that are looked at.
    gap
        Relative distance from the optimum that need not be closed.

    Returns
    -------
    tuple of OneMoreTest

    Raises
    ------
    InvalidInput
        If the recipe was not made for this characteristic.
    SearchStopped
        If a search ended early.

    Notes
    -----
    The mean of n tests has the standard uncertainty u, so that of n + 1 has u sqrt(n / (n + 1));
    what the lots of a method share, and what moisture and weighing add, stays.  The test is taken
    to confirm the mean, which is what is expected of it.
    """
    place = _place(made, characteristic)
    outcome, asked = made.predicted[place], made.problem
    order = np.argsort(-outcome.lot_variance, kind="stable")[:most].tolist()
    return tuple(
        _tested(
            made, place, str(made.portions.lot[portion]), float(outcome.lot_share[portion]), gap
        )
        for portion in order
        if asked.mixings[place].tested[_index(asked, str(made.portions.lot[portion]))] > 0.0
    )


def _tested(made: Recipe, place: int, lot: str, share: float, gap: float) -> OneMoreTest:
    outcome, index = made.predicted[place], _index(made.problem, lot)
    better = _better_known(made.problem.mixings[place], index)
    deviation = better.deviation(made.kilograms)
    mixings = made.problem.mixings
    asked = replace(made.problem, mixings=(*mixings[:place], better, *mixings[place + 1 :]))
    best = optimum(asked, aim="cost", gap=gap)
    cost = math.inf if best is None else asked.batch_kg * best.found.value / made.batch_kg
    return OneMoreTest(
        lot=lot,
        variance_share=share,
        deviation=outcome.deviation,
        deviation_then=deviation,
        odds=outcome.odds,
        odds_then=chance_inside(outcome.mean, deviation, lower=outcome.lower, upper=outcome.upper),
        cost_per_kg=made.cost_per_kg,
        cost_per_kg_then=min(made.cost_per_kg, cost),
    )


def _better_known(mixing: Mixing, index: int) -> Mixing:
    """The same with one more test of a lot."""
    tests, own, tested = mixing.tests.copy(), mixing.own.copy(), mixing.tested.copy()
    gained = tested[index] ** 2 / (tests[index] + 1.0)
    tests[index] += 1.0
    own[index] = math.sqrt(max(own[index] ** 2 - gained, 0.0))
    tested[index] = math.sqrt(tested[index] ** 2 - gained)
    return replace(mixing, own=own, tested=tested, tests=tests)


def _index(asked: Problem, code: str) -> int:
    return next(place for place, lot in enumerate(asked.lots) if lot.code == code)


def _place(made: Recipe, characteristic: str) -> int:
    names = [window.characteristic for window in made.problem.windows]
    if characteristic not in names:
        raise InvalidInput(
            f"the recipe was not made for {characteristic}.",
            where="one more test",
            remedy=f"Ask about {', '.join(names)}.",
        )
    return names.index(characteristic)
