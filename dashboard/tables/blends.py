"""A recipe as people read it: portions, predictions, uncertainties, and what is not offered."""

import math
from collections.abc import Sequence
from typing import Final
from urllib.parse import quote, unquote

import numpy as np
import pandas as pd

from dashboard.blend_order import BlendOrder
from dashboard.blend_outlook import Price, Worth
from dashboard.larder import HEAT, Larder
from dashboard.wording.blends import money
from spc.blend.cone import chance_inside
from spc.blend.problem import LeftOut
from spc.blend.recipe import Recipe
from spc.digits import percent, written

_DOSSIER: Final = "/lot?lot="


def recipe_table(found: Recipe, *, currency: str) -> pd.DataFrame:
    """What is taken of each lot."""
    lots = {lot.code: lot for lot in found.problem.lots}
    taken = found.portions
    rows = [lots[code] for code in taken.lot.tolist()]
    return pd.DataFrame(
        {
            "lot": [f"/lot?lot={quote(lot.code)}" for lot in rows],
            "supplier": [lot.supplier for lot in rows],
            "material": [lot.material for lot in rows],
            "kg": np.round(taken.kg, 2),
            "whole bags": [
                f"{bags} × {lot.bag_kg:g} kg" if bags else "–"
                for bags, lot in zip(taken.bags.tolist(), rows, strict=True)
            ],
            "weighed out (kg)": np.round(taken.weighed_kg, 2),
            "share": [percent(float(share)) for share in taken.share],
            "price": [money(lot.price_per_kg, currency, per="kg") for lot in rows],
            "cost": [money(float(cost), currency) for cost in taken.cost],
        }
    )


def plain_lots(table: pd.DataFrame) -> pd.DataFrame:
    """The same table with lots by number, not by the address of their dossier."""
    return table.assign(lot=[unquote(lot.removeprefix(_DOSSIER)) for lot in table["lot"]])


def predicted_table(found: Recipe) -> pd.DataFrame:
    """Each characteristic with its uncertainty, limits and odds."""
    return pd.DataFrame(
        [
            {
                "characteristic": one.characteristic,
                "predicted": written(one.mean, uncertainty=one.deviation, unit=one.unit),
                "standard uncertainty": written(one.deviation, uncertainty=one.deviation),
                "basis": one.basis,
                "from": written(one.lower) if math.isfinite(one.lower) else "–",
                "to": written(one.upper) if math.isfinite(one.upper) else "–",
                "odds inside": percent(one.odds),
            }
            for one in found.predicted
        ]
    )


def uncertainty_table(found: Recipe) -> pd.DataFrame:
    """What each portion's own uncertainty makes of the blend's, and what one more test buys."""
    heat, codes = found.predicted[0], found.portions.lot.tolist()
    lots = {lot.code: lot for lot in found.problem.lots}
    return pd.DataFrame(
        [
            {
                "whose": f"lot {code}",
                "share of the variance": percent(float(share)),
                "samples so far": lots[code].assays[HEAT].tests,
                "odds with one more test": percent(odds),
            }
            for code, share, odds in zip(codes, heat.lot_share, after_one_test(found), strict=True)
        ]
        + [
            {
                "whose": f"all results by {name}",
                "share of the variance": percent(float(share)),
                "samples so far": None,
                "odds with one more test": "no mixing averages it out",
            }
            for name, share in zip(heat.methods, heat.method_share, strict=True)
        ]
    )


def after_one_test(found: Recipe) -> list[float]:
    """Odds of heat after one more test of each portion's lot, if it reads what is known."""
    heat = found.predicted[0]
    mixed = found.problem.mixings[0]
    place = {lot.code: number for number, lot in enumerate(found.problem.lots)}
    odds = []
    for code, variance in zip(found.portions.lot.tolist(), heat.lot_variance, strict=True):
        lot = place[code]
        own = mixed.own[lot] ** 2 or 1.0
        saved = variance * (mixed.tested[lot] ** 2 / own) / (mixed.tests[lot] + 1.0)
        deviation = math.sqrt(max(0.0, heat.deviation**2 - float(saved)))
        odds.append(chance_inside(heat.mean, deviation, lower=heat.lower, upper=heat.upper))
    return odds


def left_out_table(
    stock: pd.DataFrame, held: Larder, materials: Sequence[str]
) -> tuple[pd.DataFrame, int]:
    """Lots that are not offered, with the reason, newest first; and how many are used up."""
    mine = stock[stock["material"].isin(materials)]
    gone = mine["available_kg"].notna() & (mine["available_kg"] <= 0.0)
    barred = [LeftOut(code=lot.code, reason=lot.barred) for lot in held.lots if lot.barred]
    reasons = {one.code: one.reason for one in (*barred, *held.left_out)}
    shown = mine[mine["lot"].isin(list(reasons))].iloc[::-1]
    table = pd.DataFrame(
        {
            "lot": [f"/lot?lot={quote(lot)}" for lot in shown["lot"]],
            "supplier": shown["supplier"],
            "received": shown["received_at"].dt.date,
            "available (kg)": shown["available_kg"],
            "why it is not offered": [reasons[lot] for lot in shown["lot"]],
        }
    )
    return table, int(gone.sum())


def price_frame(prices: Sequence[Price], *, currency: str, percent_of: float = 1.0) -> pd.DataFrame:
    """What a kilogram costs against what is asked, as its chart draws it.

    Parameters
    ----------
    percent_of
        Factor of what is asked: 100 for shares that are drawn in per cent.
    """
    return pd.DataFrame(
        {
            "asked": [round(one.asked * percent_of, 1) for one in prices],
            "cost": [one.per_kg for one in prices],
            "words": [
                "cannot be made"
                if math.isnan(one.per_kg)
                else money(one.per_kg, currency, per="kg")
                for one in prices
            ],
            "chosen": [one.chosen and not math.isnan(one.per_kg) for one in prices],
        }
    )


def worth_table(every: Sequence[Worth], *, unit: str, currency: str) -> pd.DataFrame:
    """What a lot at each level of heat may cost to enter the recipe."""
    return pd.DataFrame(
        [
            {
                f"heat of the lot ({unit})": written(one.heat),
                "worth up to": "no recipe takes so much of it"
                if math.isnan(one.up_to)
                else money(one.up_to, currency, per="kg")
                if one.up_to > 0.0
                else "not even as a gift",
            }
            for one in every
        ]
    )


def recipe_told(order: BlendOrder, found: Recipe, *, currency: str) -> dict[str, object]:
    """A recipe in plain values, for programs."""
    taken = found.portions
    return {
        "asked": {"material": order.material, "batch_kg": order.batch_kg, **order.kept()},
        "portions": [
            {
                "lot": str(taken.lot[place]),
                "kg": float(taken.kg[place]),
                "bags": int(taken.bags[place]),
                "weighed_kg": float(taken.weighed_kg[place]),
                "share": float(taken.share[place]),
                "cost": float(taken.cost[place]),
            }
            for place in range(taken.lot.size)
        ],
        "predicted": [
            {
                "characteristic": one.characteristic,
                "unit": one.unit,
                "basis": one.basis,
                "mean": one.mean,
                "standard_uncertainty": one.deviation,
                "odds": one.odds,
            }
            for one in found.predicted
        ],
        "cost": found.cost,
        "cost_per_kg": found.cost_per_kg,
        "currency": currency,
        "gap": found.gap,
        "binding": [
            {"constraint": one.constraint, "per_unit": float(one.per_unit), "unit": one.unit}
            for one in found.shadow_prices
        ],
    }
