"""A recipe as people read it: portions, predictions, and what is not offered."""

import math
from collections.abc import Sequence

import numpy as np
import pandas as pd

from dashboard.blends.words.recipe import money
from dashboard.frame.lot_addresses import lot_address
from spc.answers.blends.order import BlendOrder
from spc.answers.blends.stock import BlendStock
from spc.blend.outlook.steps import Step
from spc.blend.problem.problem import LeftOut
from spc.blend.recipe import Recipe
from spc.digits import percent, written


def recipe_table(found: Recipe, *, currency: str) -> pd.DataFrame:
    """What is taken of each lot."""
    lots = {lot.code: lot for lot in found.problem.lots}
    taken = found.portions
    rows = [lots[code] for code in taken.lot.tolist()]
    return pd.DataFrame(
        {
            "lot": [lot_address(lot.code) for lot in rows],
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


def left_out_table(
    stock: pd.DataFrame, held: BlendStock, materials: Sequence[str]
) -> tuple[pd.DataFrame, int]:
    """Lots that are not offered, with the reason, newest first; and how many are used up."""
    mine = stock[stock["material"].isin(materials)]
    gone = mine["available_kg"].notna() & (mine["available_kg"] <= 0.0)
    barred = [LeftOut(code=lot.code, reason=lot.barred) for lot in held.lots if lot.barred]
    reasons = {one.code: one.reason for one in (*barred, *held.left_out)}
    shown = mine[mine["lot"].isin(list(reasons))].iloc[::-1]
    table = pd.DataFrame(
        {
            "lot": [lot_address(lot) for lot in shown["lot"]],
            "supplier": shown["supplier"],
            "received": shown["received_at"].dt.date,
            "available (kg)": shown["available_kg"],
            "why it is not offered": [reasons[lot] for lot in shown["lot"]],
        }
    )
    return table, int(gone.sum())


def recipe_json(
    order: BlendOrder, found: Recipe, priced: Sequence[Step], *, currency: str
) -> dict[str, object]:
    """A recipe and what steps of its limits save in plain values, for programs."""
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
            {
                "constraint": one.constraint,
                "step": one.step,
                "saves": one.saved,
                "saves_at_least": one.least,
                "saves_at_most": one.most,
            }
            for one in priced
        ],
    }
