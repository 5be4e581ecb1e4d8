"""Around an order: what a kilogram costs at other odds and heat, and what a lot would be worth."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from spc.answers.blends.order import WEIGHING, BlendOrder
from spc.answers.blends.stock import BlendStock
from spc.answers.specified_lines import HEAT
from spc.blend.outlook.buying import break_even, entry_prices, like_the_middle
from spc.blend.outlook.outlook import LEVELS, ODDS, Outlook, frontier, reach
from spc.blend.outlook.sensitivity import OneMoreTest, one_more_test
from spc.blend.problem.mixing import mixing
from spc.blend.problem.stock import StockLot
from spc.blend.recipe import Recipe
from spc.errors import SearchStopped

# Lots that are offered: how many levels of heat, and how far beyond the stock.
OFFERS: Final = 6
BEYOND: Final = 1.15
# How near to the optimum, so that the price of the smallest delivery is good to a cent or so.
FINE: Final = 1e-4
# A recipe of many lots has most of its uncertainty in the first of them.
MOST_TESTED: Final = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class KilogramPrice:
    """What a kilogram costs if something else is asked.

    Attributes
    ----------
    asked
        Odds, or a level of heat in the order's unit.
    per_kg
        NaN where today's stock makes no such blend.
    chosen
        Whether it is what the order asks.
    """

    asked: float
    per_kg: float
    chosen: bool


def cost_at_odds(order: BlendOrder, held: BlendStock) -> list[KilogramPrice]:
    """Cost at least and at most odds, in rising order.

    Parameters
    ----------
    order
        With or without odds of its own.
    held
        What it draws from.

    Returns
    -------
    list of KilogramPrice
    """
    levels = {*ODDS, *([order.odds] if order.odds else [])}
    found = frontier(
        order.lots(held),
        order.windows,
        batch_kg=order.batch_kg,
        rules=order.rules,
        odds=sorted(levels),
    )
    return _prices(found, order.odds)


def cost_at_heats(order: BlendOrder, held: BlendStock) -> list[KilogramPrice]:
    """Cost at other levels of heat with the same relative window, in rising order.

    Parameters
    ----------
    order
        Whose level is one of them.
    held
        What it draws from; its coolest and hottest lot are the ends.

    Returns
    -------
    list of KilogramPrice
    """
    found = reach(
        order.lots(held),
        order.windows,
        batch_kg=order.batch_kg,
        rules=order.rules,
        levels=_levels(order, held),
    )
    return _prices(found, order.heat)


def _prices(found: Outlook, chosen: float | None) -> list[KilogramPrice]:
    return [
        KilogramPrice(asked=asked, per_kg=per_kg, chosen=asked == chosen)
        for asked, per_kg in zip(found.asked.tolist(), found.cost_per_kg.tolist(), strict=True)
    ]


def _levels(order: BlendOrder, held: BlendStock) -> Sequence[float]:
    lots = held.offered
    if not lots:
        return [order.heat]
    heat = mixing(lots, order.windows[0], weighing=WEIGHING).value
    between = np.geomspace(float(heat.min()), float(heat.max()), LEVELS)
    # Levels that people would ask for: three digits are what is read off the axis.
    return sorted({*(float(f"{one:.3g}") for one in between), order.heat})


@dataclass(frozen=True, slots=True, kw_only=True)
class LotWorth:
    """What a lot that is not in stock would be worth to a recipe.

    Attributes
    ----------
    heat
        Of the lot, in the order's unit and on its basis.
    first_kg
        Price at which its first kilogram would enter; NaN where none would.
    up_to
        Price per kilogram up to which a whole delivery pays; NaN where no recipe takes it, or
        none was found in time.
    share
        Of the batch that it would then make.
    """

    heat: float
    first_kg: float
    up_to: float
    share: float


def worth_of_lots(order: BlendOrder, held: BlendStock) -> list[LotWorth]:
    """What lots of several levels of heat would be worth to a recipe, in rising order of heat.

    Parameters
    ----------
    order, held
        What is asked, and what is in stock.

    Returns
    -------
    list of LotWorth
        For lots that are like the middle one of those on offer in everything but heat.

    Raises
    ------
    NoRecipe, SearchStopped
        If there is no recipe to enter, or none was found in time.

    Notes
    -----
    The recipe is made for the least cost, whatever the order aims for, and with bags broken: a
    price should not hang on the size of a bag.
    """
    made = replace(order, aim="cost", whole_bags=False).best_recipe(held, gap=FINE)
    heat = made.problem.mixings[0].value
    levels = np.geomspace(float(heat.min()) / BEYOND, float(heat.max()) * BEYOND, OFFERS).tolist()
    offers = [like_the_middle(made, HEAT, level) for level in levels]
    first = entry_prices(made, offers).tolist()
    return [
        _worth(made, offer, level, price)
        for offer, level, price in zip(offers, levels, first, strict=True)
    ]


def _worth(made: Recipe, offer: StockLot, heat: float, first_kg: float) -> LotWorth:
    try:
        whole = break_even(made, offer, gap=FINE)
    except SearchStopped:
        return LotWorth(heat=heat, first_kg=first_kg, up_to=math.nan, share=math.nan)
    return LotWorth(heat=heat, first_kg=first_kg, up_to=whole.per_kg, share=whole.share)


def worth_of_tests(found: Recipe) -> tuple[OneMoreTest, ...]:
    """What one more test of each lot of a recipe would buy of its heat.

    Parameters
    ----------
    found
        The recipe.

    Returns
    -------
    tuple of OneMoreTest
        Of the lots that most of its uncertainty comes from.
    """
    return one_more_test(found, HEAT, most=MOST_TESTED)
