"""Stock of cayenne powder and an order from it, made from a few plain numbers."""

from datetime import date

import pandas as pd

from spc.answers.blends.order import BlendOrder, Limit
from spc.answers.blends.stock import BlendStock, LotNeeds, blend_stock, within_sigmas
from spc.store.blends.stock import Stock

WITHIN = 0.06


def stock(*lots) -> Stock:
    """Lots of cayenne powder: number, heat, price, kilograms, and what is special about each."""
    rows, assays = [], []
    for name, heat, price, kg, special in lots:
        rows.append(
            {
                "lot": name,
                "material": "cayenne powder",
                "supplier": f"Mill {name}",
                "origin": "Southern Plain",
                "price_per_kg": price,
                "currency": "EUR",
                "received_at": pd.Timestamp("2026-10-01"),
                "available_kg": kg,
                "reserved_kg": 0.0,
                "bags": kg // 25,
                "bag_kg": 25.0,
                "opened_kg": kg % 25,
                "expires_on": "",
                "age_days": 50,
                "valid_days": 365.0,
                "barred": "",
                **{key: value for key, value in special.items() if key in ("barred", "currency")},
            }
        )
        for characteristic, unit, scale, mean in (
            ("heat", "SHU", "log", heat),
            ("moisture", "g/100 g", "linear", 9.0),
        ):
            if special.get("without") == characteristic:
                continue
            assays.append(
                {
                    "lot": name,
                    "characteristic": characteristic,
                    "unit": unit,
                    "scale": scale,
                    "basis": "as-is" if characteristic == "heat" else "",
                    "mean": mean,
                    "uncertainty": 0.05 * mean,
                    "sampling": 0.02 * mean,
                    "method_part": 0.03 * mean,
                    "method": "sensor",
                    "samples": special.get("samples", 5),
                    "readings": 15,
                    "age_days": 40.0,
                    "bound": special.get("bound", "") if characteristic == "heat" else "",
                }
            )
    return Stock(lots=pd.DataFrame(rows), assays=pd.DataFrame(assays))


def needs(bias=None) -> LotNeeds:
    """What a lot must have: heat and moisture, on the basis of the order."""
    return LotNeeds(
        materials=("cayenne powder",),
        basis={"heat": "as-is", "moisture": ""},
        within_sigma=within_sigmas({"cayenne powder": WITHIN}),
        today=date(2026, 11, 20),
        heat_bias=bias,
    )


def two_lots() -> BlendStock:
    """A mild lot A and a hot lot B."""
    return blend_stock(
        stock(("A", 30_000.0, 4.0, 500.0, {}), ("B", 60_000.0, 6.0, 510.0, {})), needs()
    )


def middling_order() -> BlendOrder:
    """300 kg between the two lots, with odds."""
    return BlendOrder(
        material="cayenne powder",
        drawn_from=("cayenne powder",),
        batch_kg=300.0,
        heat=40_000.0,
        lower=36_000.0,
        upper=44_000.0,
        odds=0.9,
        limits=(Limit(characteristic="moisture", unit="g/100 g", lower=None, upper=11.0),),
    )
