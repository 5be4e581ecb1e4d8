"""Suppliers with a planted story each, compared: what is true of them is known beforehand."""

import numpy as np
import pandas as pd

from spc.acceptance.specification import Line
from spc.answers.suppliers import MARGIN, compare_own_results
from spc.answers.suppliers_compared import SuppliersCompared
from spc.store.methods.comparisons import Comparable

HEAT = {"characteristic": "heat", "unit": "SHU", "scale": "log", "basis": "as-is"}


def supplier(  # noqa: PLR0913 - each is a story that can be planted
    name,
    lots=20,
    *,
    newest=0,
    cv=0.1,
    spread=0.05,
    rise=0.0,
    bias=0.0,
    step=100.0,
    price=4.0,
    level=40_000.0,
):
    """Lots of one supplier; `newest` of them are of crop 2026 and rise from one to the next."""
    generator = np.random.default_rng(abs(hash_of(name)))
    value = level * np.exp(generator.normal(0.0, cv, lots) - 0.5 * cv**2)
    late = np.arange(lots) - (lots - newest) + 1
    value *= (1.0 + rise) ** np.where(late > 0, late, 0)
    said = step * np.round(value * (1.0 + bias) * np.exp(generator.normal(0, 0.03, lots)) / step)
    return pd.DataFrame(
        {
            "lot": [f"{name}-{place}" for place in range(lots)],
            "supplier": name,
            "received_at": pd.date_range("2025-01-06", periods=lots, freq="20D"),
            "crop_year": np.where(late > 0, 2026, 2025),
            "value": value,
            "spread": spread * np.sqrt(generator.chisquare(4, lots) / 4),
            "samples": 5.0,
            "readings": 15.0,
            "sampling": 0.02,
            "uncertainty": 0.05,
            "price_per_kg": price,
            "currency": "EUR",
            "packages": 40,
            "package_kg": 25.0,
            "decision": "accepted",
            "declared": said,
        }
    )


def hash_of(name):
    """The same in every process, unlike Python's own."""
    return sum(place * ord(sign) for place, sign in enumerate(name, 1))


def compared(*suppliers, line=None, left_out=0, **facts) -> SuppliersCompared:
    lots = pd.concat(suppliers, ignore_index=True)
    lots = lots.sort_values(["received_at", "lot"], ignore_index=True)
    said = lots[lots["declared"].notna()]
    found = Comparable(
        material="cayenne powder",
        method="rapid sensor",
        lots=lots.drop(columns="declared"),
        declared=said[["lot", "supplier", "received_at", "declared"]].assign(
            printed=[f"{one:g}" if one < 100 else f"{one:.0f}" for one in said["declared"]],
            own=said["value"],
            own_uncertainty=said["uncertainty"],
            own_sampling=said["sampling"],
            declared_uncertainty=0.08,
        ),
        left_out=left_out,
        **{**HEAT, **facts},
    )
    hot = found if found.characteristic == "heat" else None
    return compare_own_results(found, line=line, margin=MARGIN, hot=hot, own_factor=16.0)


def four_stories() -> SuppliersCompared:
    """One steady, one drifting with high certificates, one with uneven bags, one unknown."""
    return compared(
        supplier("Steady Mill", 30, cv=0.04, price=3.0),
        supplier("Drift Farm", 30, newest=9, rise=0.04, bias=0.09),
        supplier("Bag Works", 30, spread=0.18, price=5.0),
        supplier("New Grower", 2),
        line=Line(characteristic="heat", unit="SHU", scale="log", lower=30e3, upper=60e3),
    )
