"""Sentences beyond the recipe: whose uncertainty matters, cost, reach, what to buy, what holds."""

import math
from collections.abc import Sequence
from typing import Final

import pandas as pd

from dashboard.blends.words.recipe import money
from dashboard.frame.words import count, listed
from spc.answers.blends.future import NextLots
from spc.answers.blends.order import BlendOrder
from spc.blend.outlook.future import FEWEST_LOTS
from spc.blend.outlook.sensitivity import OneMoreTest
from spc.blend.problem.target import plain
from spc.blend.recipe import Recipe
from spc.digits import percent, written

WORTH: Final = (
    "A lot on offer, like the middle one in stock in everything but heat: the price below which its"
    " first kilogram enters this recipe, the price up to which a whole delivery pays, and the share"
    " of the batch it then makes. Worked out for the least cost, with bags broken."
)
AHEAD: Final = (
    "Each line runs from the 5 % to the 95 % point, with a dot at the middle; the broken lines are"
    " the window asked for. The next lots are drawn as if they varied like all lots measured so"
    " far: a drift is not followed. Results by one method may all be off alike; mixing anew does"
    " not see that, and its share has it in it."
)
_NEARLY: Final = 1e-9
# What rounds to nothing is not said to be saved.
_CENT: Final = 0.005


def simulated(share: float) -> str:
    """A share of simulated blends, which is never a certainty."""
    return percent(min(max(share, _NEARLY), 1.0 - _NEARLY))


def matters(found: Recipe) -> str:
    """Whose uncertainty makes most of the blend's."""
    heat = found.predicted[0]
    methods = list(zip(heat.methods, heat.method_share.tolist(), strict=True))
    name, shared = max(methods, key=lambda one: one[1])
    place = int(heat.lot_share.argmax())
    lot, own = str(found.portions.lot[place]), float(heat.lot_share[place])
    return (
        f"{percent(shared)} of the variance is what all results by {name} share, and no mixing"
        f" averages it out; among the lots {lot} matters most, with {percent(own)}."
    )


def one_more_test(found: Recipe, tests: Sequence[OneMoreTest], *, currency: str) -> str:
    """What one more test of the lot where it brings most would buy."""
    if not tests:
        return "No test of a lot would make this recipe surer."
    best = max(tests, key=lambda one: one.odds_then)
    said = (
        f"One more test of {best.lot}, with the same result, would move the odds of this recipe"
        f" from {percent(best.odds)} to {percent(best.odds_then)}"
    )
    saved = best.cost_per_kg - best.cost_per_kg_then
    if found.aim != "cost" or saved < _CENT:
        return f"{said}."
    return (
        f"{said}, and would bring the cheapest recipe from"
        f" {money(best.cost_per_kg, currency, per='kg')} to"
        f" {money(best.cost_per_kg_then, currency, per='kg')}."
    )


def at_odds(frame: pd.DataFrame) -> str:
    """How sure today's stock can be, and what it costs."""
    made = frame[frame["cost"].notna()]
    if made.empty:
        return "Today's stock makes no such blend at any odds that were tried."
    cheapest, surest = made.iloc[0], made.iloc[-1]
    return (
        f"The surest that was tried and can be made is {plain(float(surest['asked']))} %, for"
        f" {surest['words']}; at {plain(float(cheapest['asked']))} % a kilogram costs"
        f" {cheapest['words']}."
    )


def at_levels(frame: pd.DataFrame, order: BlendOrder) -> str:
    """Which heat today's stock can make with the same window, in words."""
    made = frame[frame["cost"].notna()]
    if made.empty:
        return "Today's stock makes no level of heat with this window and these odds."
    low, high = float(made["asked"].min()), float(made["asked"].max())
    return (
        f"With the same window and odds today's stock makes {written(low)} to"
        f" {written(high, unit=order.unit)}, of the levels that were tried."
    )


def ahead(one: NextLots) -> str:
    """What the suppliers can hold of one characteristic, or why that cannot be said."""
    name = one.window.characteristic
    if one.blends is None:
        few = listed([f"{each.name} ({count(each.lots, 'lot')})" for each in one.few])
        return (
            f"What these suppliers can hold of {name} cannot be said yet: {FEWEST_LOTS} lots with a"
            f" measured {name} are the least to draw a next one from, and there are fewer of {few}."
        )
    return (
        f"Mixed in today's shares from the next lots of these suppliers,"
        f" {simulated(one.blends.kept)} of blends would have a {name} {_inside(one)}; mixed anew"
        f" from what is measured of those lots, {simulated(one.blends.adjusted)}."
    )


def rests_on(one: NextLots) -> str:
    """On how many lots it rests, and whose newest lot is unusual."""
    lots = listed([f"{count(each.lots, 'lot')} of {each.name}" for each in one.streams])
    unusual = (
        f" The newest lot of {listed(one.unusual)} is unusual among its own, so the next ones may"
        " be too."
        if one.unusual
        else ""
    )
    return f"It rests on {lots}.{unusual}"


def _inside(one: NextLots) -> str:
    window = one.window
    dry = " dry" if window.basis == "dry" else ""
    if math.isinf(window.high):
        return f"of at least {plain(window.low)} {window.unit}{dry}"
    if math.isinf(window.low):
        return f"of at most {plain(window.high)} {window.unit}{dry}"
    return f"of {plain(window.low)} to {plain(window.high)} {window.unit}{dry}"
