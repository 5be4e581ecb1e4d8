"""Beyond the recipe, as people read it: uncertainties, prices, buying, and what suppliers hold."""

import math
from collections.abc import Sequence
from typing import Final

import pandas as pd

from dashboard.blends.words.outlook import simulated
from dashboard.blends.words.recipe import money
from spc.answers.blends.future import NextLots
from spc.answers.blends.order import BlendOrder
from spc.answers.blends.outlook import KilogramPrice, LotWorth
from spc.answers.specified_lines import HEAT
from spc.blend.outlook.sensitivity import OneMoreTest
from spc.blend.problem.target import plain
from spc.blend.recipe import Recipe
from spc.digits import percent, written

_NOT_TRIED: Final = "–"
_COST_THEN: Final = "a kilogram then costs"


def uncertainty_table(
    found: Recipe, tests: Sequence[OneMoreTest], *, currency: str
) -> pd.DataFrame:
    """What each portion's own uncertainty makes of the blend's, and what one more test buys."""
    heat, codes = found.predicted[0], found.portions.lot.tolist()
    lots = {lot.code: lot for lot in found.problem.lots}
    tried = {one.lot: one for one in tests}
    table = pd.DataFrame(
        [
            {
                "whose": f"lot {code}",
                "share of the variance": percent(float(share)),
                "samples so far": str(lots[code].assays[HEAT].tests),
                **_with_one_more(tried.get(code), currency),
            }
            for code, share in zip(codes, heat.lot_share, strict=True)
        ]
        + [
            {
                "whose": f"all results by {name}",
                "share of the variance": percent(float(share)),
                "samples so far": _NOT_TRIED,
                "odds with one more test": "no mixing averages it out",
                _COST_THEN: _NOT_TRIED,
            }
            for name, share in zip(heat.methods, heat.method_share, strict=True)
        ]
    )
    # Only of a recipe made for the least cost can it be said what is saved.
    return table if found.aim == "cost" else table.drop(columns=_COST_THEN)


def _with_one_more(test: OneMoreTest | None, currency: str) -> dict[str, str]:
    return {
        "odds with one more test": _NOT_TRIED if test is None else percent(test.odds_then),
        _COST_THEN: _NOT_TRIED
        if test is None
        else money(test.cost_per_kg_then, currency, per="kg"),
    }


def price_frame(
    prices: Sequence[KilogramPrice], *, currency: str, percent_of: float = 1.0
) -> pd.DataFrame:
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
            "words": [_made_for(one, currency) for one in prices],
            "chosen": [one.chosen and not math.isnan(one.per_kg) for one in prices],
        }
    )


def price_table(
    prices: Sequence[KilogramPrice], order: BlendOrder, *, currency: str
) -> pd.DataFrame:
    """What a kilogram and the batch cost at other odds.

    Parameters
    ----------
    prices
        At odds from 0 to 1.
    order
        Whose batch it is.
    """
    return _costs({"odds": [percent(one.asked) for one in prices]}, prices, order, currency)


def level_table(
    prices: Sequence[KilogramPrice], order: BlendOrder, *, currency: str
) -> pd.DataFrame:
    """What a kilogram and the batch cost at other levels of heat, in the unit of `order`."""
    heat = {f"heat ({order.unit})": [written(one.asked) for one in prices]}
    return _costs(heat, prices, order, currency)


def _costs(
    asked: dict[str, list[str]], prices: Sequence[KilogramPrice], order: BlendOrder, currency: str
) -> pd.DataFrame:
    batch = [money(one.per_kg * order.batch_kg, currency) for one in prices]
    return pd.DataFrame(
        asked
        | {
            "a kilogram costs": [_made_for(one, currency) for one in prices],
            f"{plain(order.batch_kg)} kg cost": batch,
        }
    )


def _made_for(price: KilogramPrice, currency: str) -> str:
    if math.isnan(price.per_kg):
        return "cannot be made"
    return money(price.per_kg, currency, per="kg")


def worth_table(every: Sequence[LotWorth], *, unit: str, currency: str) -> pd.DataFrame:
    """What a lot at each level of heat may cost."""
    return pd.DataFrame(
        [
            {
                f"heat of the lot ({unit})": written(one.heat),
                "its first kilogram below": _price(one.first_kg, currency),
                "a whole delivery up to": _price(one.up_to, currency),
                "share of the batch": _NOT_TRIED if math.isnan(one.share) else percent(one.share),
            }
            for one in every
        ]
    )


def _price(per_kg: float, currency: str) -> str:
    if math.isnan(per_kg):
        return "no recipe takes it"
    return money(per_kg, currency, per="kg") if per_kg > 0.0 else "not even as a gift"


def ahead_frame(one: NextLots) -> pd.DataFrame:
    """Next lots of each supplier and blends of them, as their chart draws them."""
    if one.blends is None:
        return pd.DataFrame()
    rows = [
        *((f"next lots of {name}", alone, False) for name, alone in one.alone.items()),
        ("blends of them in today's shares", one.blends, True),
    ]
    return pd.DataFrame(
        [
            {
                "row": place,
                "name": name,
                "low": blends.low,
                "middle": blends.middle,
                "high": blends.high,
                "lower": max(0.0, one.window.low),
                "upper": one.window.high,
                "blend": blend,
                "words": f"{written(blends.low)} to {written(blends.high, unit=one.window.unit)},"
                f" {simulated(blends.kept)} inside",
            }
            for place, (name, blends, blend) in enumerate(rows)
        ]
    )


def ahead_table(every: Sequence[NextLots]) -> pd.DataFrame:
    """What the suppliers can hold of each characteristic."""
    return pd.DataFrame([_ahead_row(one) for one in every])


def _ahead_row(one: NextLots) -> dict[str, object]:
    window, blends = one.window, one.blends
    limits = {
        "characteristic": window.characteristic,
        "from": written(window.low) if math.isfinite(window.low) else "–",
        "to": written(window.high) if math.isfinite(window.high) else "–",
        "unit": window.unit,
        "fewest lots of a supplier": min(each.lots for each in one.streams),
    }
    if blends is None:
        return limits | {"blends inside": "too few lots", "5 %": "–", "middle": "–", "95 %": "–"}
    return limits | {
        "blends inside": f"{simulated(blends.kept)} ± {percent(max(blends.kept_error, 1e-9))}",
        "5 %": written(blends.low),
        "middle": written(blends.middle),
        "95 %": written(blends.high),
    }
