"""A recipe in its stock, as its chart draws it."""

import math
from typing import Final

import numpy as np
import pandas as pd

from dashboard.blends.charts import recipe
from dashboard.blends.words.recipe import money
from spc.answers.blends.order import WEIGHING, BlendOrder
from spc.answers.blends.stock import BlendStock
from spc.blend.problem.mixing import mixing
from spc.blend.recipe import Recipe
from spc.digits import written

# Half the width of the drawn curve, in standard deviations, and its points.
_REACH: Final = 3.5
_POINTS: Final = 71
# Beyond this share of the axis there is no room for words on the right of a leader.
_RIGHT: Final = 0.55
_MOST_NAMED: Final = 9
_SHORTEST: Final = 3.0


def picture_frame(
    order: BlendOrder, held: BlendStock, found: Recipe | None
) -> tuple[pd.DataFrame, int]:
    """A recipe as its chart draws it, or the stock alone where there is none.

    Returns
    -------
    frame, rows
        And how many lines of words it holds.
    """
    lots = _lots_frame(order, held, found)
    named = lots[lots["taken"] > 0.0].nlargest(_MOST_NAMED, "kilograms")
    rows = len(named)
    height = float(recipe.blend_height(rows))
    parts = [
        pd.DataFrame(
            {
                "kind": "band",
                "heat": [order.lower],
                "until": order.upper,
                "base": 0.0,
                "top": height,
            }
        ),
        lots,
        _portions(named, lots, order),
    ]
    if found is not None:
        parts.append(_curve(found, floor=height - recipe.CURVE - recipe.GAP))
    frame = pd.concat([one for one in parts if len(one)], ignore_index=True)
    return frame.reindex(columns=list(recipe.COLUMNS)), rows


def _lots_frame(order: BlendOrder, held: BlendStock, found: Recipe | None) -> pd.DataFrame:
    lots = held.offered
    if not lots:
        return pd.DataFrame({"taken": [], "kilograms": []})
    heat = mixing(lots, order.windows[0], weighing=WEIGHING)
    taken = {} if found is None else _taken(found)
    available = np.array([lot.available_kg for lot in lots])
    kilograms = np.array([taken.get(lot.code, 0.0) for lot in lots])
    scale = recipe.BARS / float(available.max())
    used = np.where(kilograms > 0.0, np.maximum(kilograms * scale, _SHORTEST), 0.0)
    return pd.DataFrame(
        {
            "kind": "lot",
            "heat": heat.value,
            "base": 0.0,
            "top": np.maximum(available * scale, _SHORTEST),
            "taken": used,
            "kilograms": kilograms,
            "lot": [lot.code for lot in lots],
            "label": [
                written(float(value), uncertainty=float(own), unit=order.unit)
                for value, own in zip(heat.value, heat.own, strict=True)
            ],
            "amount": [f"{written(lot.available_kg)} kg" for lot in lots],
            "use": [f"{written(float(kg))} kg" if kg else "none" for kg in kilograms],
            "price": [money(lot.price_per_kg, held.currency, per="kg") for lot in lots],
            "supplier": [lot.supplier for lot in lots],
        }
    )


def _taken(found: Recipe) -> dict[str, float]:
    return dict(zip(found.portions.lot.tolist(), found.portions.kg.tolist(), strict=True))


def _portions(named: pd.DataFrame, lots: pd.DataFrame, order: BlendOrder) -> pd.DataFrame:
    """A line of words for each portion: the outermost highest, so that no leader crosses words."""
    if named.empty:
        return pd.DataFrame()
    low = math.log(min(float(lots["heat"].min()), order.lower))
    high = math.log(max(float(lots["heat"].max()), order.upper))
    place = (np.log(named["heat"]) - low) / (high - low or 1.0)
    rows = named.assign(side=np.where(place < _RIGHT, "right", "left"))
    right = rows[rows["side"] == "right"].sort_values("heat")
    left = rows[rows["side"] == "left"].sort_values("heat", ascending=False)
    stacked = pd.concat([right, left])
    first = recipe.BARS + recipe.GAP + recipe.ROW * (len(stacked) - 1)
    return stacked.assign(
        kind="portion",
        base=stacked["taken"],
        top=first - recipe.ROW * np.arange(len(stacked)),
        label=stacked["lot"] + "  " + stacked["use"] + " at " + stacked["price"],
    )


def _curve(found: Recipe, *, floor: float) -> pd.DataFrame:
    heat = found.predicted[0]
    if heat.deviation == 0.0:
        return pd.DataFrame()
    steps = np.linspace(-_REACH, _REACH, _POINTS)
    curve = pd.DataFrame(
        {
            "kind": "curve",
            "heat": heat.mean + steps * heat.deviation,
            "base": floor,
            "top": floor + recipe.CURVE * np.exp(-(steps**2) / 2.0),
        }
    )
    mean = pd.DataFrame(
        {
            "kind": ["mean"],
            "heat": heat.mean,
            "base": floor,
            "top": floor + recipe.CURVE,
            "label": written(heat.mean, uncertainty=heat.deviation, unit=heat.unit),
        }
    )
    return pd.concat([curve[curve["heat"] > 0.0], mean], ignore_index=True)
