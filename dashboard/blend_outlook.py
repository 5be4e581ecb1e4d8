"""Around an order: what a kilogram costs at other odds, and at other levels of heat."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from dashboard.blend_order import WEIGHING, BlendOrder
from dashboard.larder import HEAT, Larder
from spc.blend.mixing import mixing
from spc.blend.optimum import optimum
from spc.blend.outlook import GAP, LEVELS, ODDS, Outlook, frontier, reach
from spc.blend.problem import problem
from spc.blend.rules import ShareLimit
from spc.blend.stock import MOISTURE, Assay, StockLot
from spc.errors import SearchStopped

# A lot that is offered: its share of the batch, how many levels, and how far beyond the stock.
ENTERS: Final = 0.2
OFFERS: Final = 6
BEYOND: Final = 1.15
GIFT: Final = "(a lot on offer)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
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


def at_odds(order: BlendOrder, held: Larder) -> list[Price]:
    """Cost at least and at most odds, in rising order.

    Parameters
    ----------
    order
        With or without odds of its own.
    held
        What it draws from.

    Returns
    -------
    list of Price
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


def at_levels(order: BlendOrder, held: Larder) -> list[Price]:
    """Cost at other levels of heat with the same relative window, in rising order.

    Parameters
    ----------
    order
        Whose level is one of them.
    held
        What it draws from; its coolest and hottest lot are the ends.

    Returns
    -------
    list of Price
    """
    found = reach(
        order.lots(held),
        order.windows,
        batch_kg=order.batch_kg,
        rules=order.rules,
        levels=_levels(order, held),
    )
    return _prices(found, order.heat)


def _prices(found: Outlook, chosen: float | None) -> list[Price]:
    return [
        Price(asked=asked, per_kg=per_kg, chosen=asked == chosen)
        for asked, per_kg in zip(found.asked.tolist(), found.cost_per_kg.tolist(), strict=True)
    ]


def _levels(order: BlendOrder, held: Larder) -> Sequence[float]:
    lots = held.offered
    if not lots:
        return [order.heat]
    heat = mixing(lots, order.windows[0], weighing=WEIGHING).value
    between = np.geomspace(float(heat.min()), float(heat.max()), LEVELS).tolist()
    return sorted({*between, order.heat})


def _least_cost(order: BlendOrder, held: Larder) -> float:
    """Least cost of a kilogram; NaN where there is no recipe, or none was found in time."""
    asked = problem(order.lots(held), order.windows, batch_kg=order.batch_kg, rules=order.rules)
    try:
        best = optimum(asked, aim="cost", gap=GAP)
    except SearchStopped:
        return math.nan
    return math.nan if best is None else best.value


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """What a lot that is not in stock would be worth to an order.

    Attributes
    ----------
    heat
        Of the lot, in the order's unit and on its basis.
    up_to
        Price per kilogram at which it makes the batch no dearer; NaN where no recipe takes so
        much of it.
    """

    heat: float
    up_to: float


def worth(order: BlendOrder, held: Larder) -> list[Worth]:
    """What a lot of each level of heat could cost to enter the recipe with a fifth of the batch.

    Parameters
    ----------
    order, held
        What is asked, and what is in stock; some lot must be offered.

    Returns
    -------
    list of Worth
        For a lot that is like the middle one of those on offer in everything but heat.

    Notes
    -----
    The batch is worked out with the lot as a gift; what it saves is what may be paid for it.  Bags
    are broken in both, because a price between them should not hang on the size of a bag.
    """
    offered = held.offered
    order = replace(order, whole_bags=False)
    without = _least_cost(order, held)
    heat = mixing(offered, order.windows[0], weighing=WEIGHING).value
    levels = np.geomspace(float(heat.min()) / BEYOND, float(heat.max()) * BEYOND, OFFERS)
    found = []
    for level in levels.tolist():
        gift = _like(offered, order, level)
        asked = replace(
            order,
            shares=(*order.shares, ShareLimit(of="lot", name=gift.code, least=ENTERS)),
            most_lots=None if order.most_lots is None else max(order.most_lots, 2),
        )
        rest = _least_cost(asked, replace(held, lots=(*held.lots, gift)))
        found.append(Worth(heat=level, up_to=(without - rest) / ENTERS))
    return found


def _like(offered: Sequence[StockLot], order: BlendOrder, level: float) -> StockLot:
    """A lot at a level of heat that is like the middle of those on offer in all else."""
    assays = {}
    for window in order.windows:
        every = mixing(offered, window, weighing=0.0)
        known = offered[0].assays[window.characteristic]
        value = level if window.characteristic == HEAT else float(np.median(every.value))
        factor = value / float(np.median(every.value)) if window.characteristic == HEAT else 1.0
        assays[window.characteristic] = Assay(
            value=value,
            standard_uncertainty=float(np.median(every.own)) * factor,
            unit=window.unit,
            basis=window.basis,
            method=known.method,
            shared_uncertainty=float(np.median(every.shared.max(axis=0))) * factor,
            tests=known.tests,
            age_days=0.0,
        )
    if MOISTURE in offered[0].assays:
        assays.setdefault(MOISTURE, offered[0].assays[MOISTURE])
    return StockLot(
        code=GIFT,
        material=order.material,
        supplier="",
        origin="",
        price_per_kg=0.0,
        available_kg=ENTERS * order.batch_kg,
        assays=assays,
        age_days=0.0,
        expires_in_days=math.inf if order.shelf_life_days else None,
    )
