"""A recipe: which lots and how many kilograms of each, what comes of it, and at what odds."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.blend.explain.explain import no_recipe
from spc.blend.explain.shadow import ShadowPrice, shadow_prices
from spc.blend.odds import LIMIT_ROUNDING, Predicted, Simulated, predicted, simulated
from spc.blend.problem.problem import LeftOut, Problem, Target, problem
from spc.blend.problem.rules import Rules
from spc.blend.problem.stock import StockLot
from spc.blend.search.assembly import Aim
from spc.blend.search.optimum import optimum
from spc.blend.search.outcome import Optimum
from spc.errors import SearchStopped

Floats = NDArray[np.float64]

DEFAULT_GAP: Final = 1e-3
# Nothing lighter than this share of the batch is weighed.
FINEST: Final = 1e-9
ODDS_ROUNDING: Final = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Portions:
    """What is taken of each lot, the largest portion first.

    Attributes
    ----------
    lot : shape (portions,)
        Codes.
    kg, bags, weighed_kg : shape (portions,)
        Kilograms in all, whole bags among them, and what is weighed out.
    share, cost : shape (portions,)
        Of the batch, and in the currency of the prices.
    """

    lot: NDArray[np.str_]
    kg: Floats
    bags: NDArray[np.int64]
    weighed_kg: Floats
    share: Floats
    cost: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Recipe:
    """A recipe, and what it rests on.

    Attributes
    ----------
    portions
        What is taken of each lot.
    predicted
        Each characteristic of the target, in its order.
    odds
        Chance that the blend lies inside all limits, characteristics taken as independent.
    odds_at_least
        The same whatever links them (Bonferroni): 1 less the sum of the chances of each miss.
    batch_kg, cost, cost_per_kg
        Size and cost of the batch.
    aim, value, bound, gap
        What was minimised, its value, what no recipe is below, and their relative distance.  The
        cost is per kilogram of the batch asked for; ``"nearest"`` is 1 plus the distances from
        the targets in half-widths, ``"oldest first"`` 1 plus the mean youth as a share of the
        oldest lot's age, ``"least spread"`` the standard deviation of the first characteristic,
        in its unit.
    binding
        Constraints that hold the cost up.
    shadow_prices
        What a small change of each of them does to it, of the recipe with broken bags.
    expires_in_days, result_age_days
        Of the first lot to expire, and of the oldest result; NaN where not known.
    left_out
        Lots that were not offered, and why.
    problem
        Lots, target and rules.
    """

    portions: Portions
    predicted: tuple[Predicted, ...]
    odds: float
    odds_at_least: float
    batch_kg: float
    cost: float
    cost_per_kg: float
    aim: Aim
    value: float
    bound: float
    gap: float
    binding: tuple[str, ...]
    shadow_prices: tuple[ShadowPrice, ...]
    expires_in_days: float
    result_age_days: float
    left_out: tuple[LeftOut, ...]
    problem: Problem = field(repr=False)

    @property
    def kilograms(self) -> Floats:
        """Of each lot on offer, shape (lots,)."""
        taken = dict(zip(self.portions.lot.tolist(), self.portions.kg.tolist(), strict=True))
        return np.array([taken.get(lot.code, 0.0) for lot in self.problem.lots])

    def of(self, characteristic: str) -> Predicted:
        """The prediction of one characteristic."""
        return next(each for each in self.predicted if each.characteristic == characteristic)

    def simulated(self, generator: np.random.Generator, *, draws: int = 20_000) -> Simulated:
        """The odds by drawing blends of this recipe.

        Parameters
        ----------
        generator
            Source of the draws.
        draws
            Number of blends.

        Returns
        -------
        Simulated
        """
        return simulated(
            self.problem.mixings,
            self.kilograms,
            weighing=self.problem.rules.weighing,
            generator=generator,
            draws=draws,
        )


def recipe(
    lots: Sequence[StockLot],
    target: Target,
    *,
    batch_kg: float,
    rules: Rules | None = None,
    aim: Aim = "cost",
    gap: float = DEFAULT_GAP,
) -> Recipe:
    """The best batch that can be made from stock.

    Parameters
    ----------
    lots
        All lots in stock; barred ones are never offered.
    target
        A window, or one for each of several characteristics.
    batch_kg
        Size of the batch, kg.
    rules
        Shares, number of lots, ages, bags, scales.
    aim
        ``"cost"``: least cost.  ``"nearest"``: nearest to the targets.  ``"oldest first"``: stock
        that has lain longest.  ``"least spread"``: least uncertainty of the first characteristic.
        Among recipes as good, to the gap, the cheapest; of ``"least spread"`` a cheap one.
    gap
        Relative distance from the optimum that need not be closed.

    Returns
    -------
    Recipe
        Kept to a millionth of each window, and to a billionth in the odds.

    Raises
    ------
    LotBarred
        If a barred lot is asked for by name.
    NoRecipe
        If no batch keeps all limits and rules; says which of them conflict, and what would help.
    InvalidInput
        If a datum is missing, contradicts another or is not possible.
    SearchStopped
        If the search ended before it found or excluded a recipe.

    Notes
    -----
    Mixed-integer linear optimisation with tangents for the odds: see `cone`, `model` and `search`;
    for the least spread `variance` and `least_spread`.
    """
    asked = problem(lots, target, batch_kg=batch_kg, rules=rules or Rules())
    return solve(asked, aim=aim, gap=gap)


def solve(asked: Problem, *, aim: Aim = "cost", gap: float = DEFAULT_GAP) -> Recipe:
    """The best batch of a problem: see `recipe`."""
    best = optimum(asked, aim=aim, gap=gap)
    if best is None:
        raise no_recipe(asked)
    return _composed(asked, aim, best)


def _composed(asked: Problem, aim: Aim, best: Optimum) -> Recipe:
    bags, weighed = _taken(asked, best)
    kilograms = weighed + bags * asked.bag * asked.batch_kg
    order = np.argsort(-kilograms, kind="stable")[: np.count_nonzero(kilograms)]
    outcome = tuple(predicted(each, kilograms, order) for each in asked.mixings)
    _verify(asked, outcome)
    prices = shadow_prices(asked, best.model, best.found.relaxation)
    chances = [each.odds for each in outcome]
    used = [asked.lots[place] for place in order.tolist()]
    expiry = [math.nan if lot.expires_in_days is None else lot.expires_in_days for lot in used]
    cost, size = float(kilograms @ asked.price), float(kilograms.sum())
    return Recipe(
        portions=Portions(
            lot=np.array([lot.code for lot in used]),
            kg=kilograms[order],
            bags=bags[order],
            weighed_kg=weighed[order],
            share=kilograms[order] / size,
            cost=(kilograms * asked.price)[order],
        ),
        predicted=outcome,
        odds=math.prod(chances),
        odds_at_least=max(0.0, 1.0 - sum(1.0 - chance for chance in chances)),
        batch_kg=size,
        cost=cost,
        cost_per_kg=cost / size,
        aim=aim,
        value=best.value,
        bound=best.bound,
        gap=best.gap,
        binding=tuple(price.constraint for price in prices),
        shadow_prices=prices,
        expires_in_days=float(np.min(expiry)),
        result_age_days=float(np.max([asked.result_age(lot) for lot in used])),
        left_out=asked.left_out,
        problem=asked,
    )


def _taken(asked: Problem, best: Optimum) -> tuple[NDArray[np.int64], Floats]:
    """Whole bags and kilograms weighed out, of every lot on offer."""
    model, point = best.model, best.found.point
    weighed = np.where(point[model.loose] > FINEST, point[model.loose], 0.0)
    return np.round(point[model.bags]).astype(np.int64), weighed * asked.batch_kg


def _verify(asked: Problem, outcome: tuple[Predicted, ...]) -> None:
    """The recipe as it will be weighed out keeps what was asked, whatever the solver rounded."""
    for window, each in zip(asked.windows, outcome, strict=True):
        slack = LIMIT_ROUNDING * window.scale
        inside = window.low - slack <= each.mean <= window.high + slack
        if not inside or each.odds < (window.odds or 0.0) - ODDS_ROUNDING:
            raise SearchStopped(
                f"the recipe found misses its {window.characteristic} by rounding.",
                where="blend",
                remedy="Move a limit by a little, or allow a tolerance of the batch.",
            )
