"""What heat costs: money per thousand heat units, lot by lot and for each supplier."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import stats

from spc.errors import InvalidInput

Floats = NDArray[np.float64]

# One heat unit is one SHU in one kilogram.
_UNITS: float = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeatCost:
    """What each supplier's heat costs, cheapest first.

    Attributes
    ----------
    supplier : shape (suppliers,)
    lots : shape (suppliers,)
        How many lots have price, quantity and heat.
    cost, low, high : shape (suppliers,)
        Money per thousand heat units (1 000 SHU in 1 kg), all kilograms together, with its
        interval; the interval is NaN with fewer than two lots.
    currency
        Of the money.
    """

    supplier: NDArray[np.str_]
    lots: NDArray[np.int64]
    cost: Floats
    low: Floats
    high: Floats
    currency: str


def heat_cost(lots: pd.DataFrame, *, confidence: float = 0.95, factor: float = 1.0) -> HeatCost:
    """Money paid over heat bought, for each supplier.

    Parameters
    ----------
    lots
        One line a lot: supplier, price_per_kg, currency, kg, heat (SHU); lines that lack a number
        are left out.  Price and heat must be on one basis: both as-is, or both per kg of dry
        matter, and then the cost is the same.
    confidence
        Of the intervals.
    factor
        Common SHU per mg/kg over the method's own, where methods differ in it: 16.1/15 brings
        heat reckoned with 15 to the terms of 16.1.

    Returns
    -------
    HeatCost

    Raises
    ------
    InvalidInput
        If prices are in several currencies, or a price, quantity or heat is not positive.

    References
    ----------
    Cochran, W. G. (1977), Sampling Techniques, 3rd ed., chapter 6: ratio estimators (from memory).
    """
    columns = ["price_per_kg", "kg", "heat"]
    whole = lots.dropna(subset=columns)
    currencies = sorted(set(whole["currency"]))
    if len(currencies) > 1:
        raise InvalidInput(
            f"prices are in {' and '.join(currencies)}.",
            where="heat cost",
            remedy="Compare lots bought in one currency, or convert the prices first.",
        )
    if (whole[columns] <= 0.0).any(axis=None):
        raise InvalidInput(
            "a price, a quantity or a heat is not above zero.",
            where="heat cost",
            remedy="Correct it, or leave the lot out.",
        )
    names, code = np.unique(whole["supplier"].to_numpy(dtype=np.str_), return_inverse=True)
    kg = whole["kg"].to_numpy(dtype=np.float64)
    paid = whole["price_per_kg"].to_numpy(dtype=np.float64) * kg
    bought = whole["heat"].to_numpy(dtype=np.float64) * factor * kg / _UNITS
    size = np.bincount(code, minlength=names.size)
    total = np.bincount(code, bought, minlength=names.size)
    cost = np.bincount(code, paid, minlength=names.size) / total
    off = np.bincount(code, np.square(paid - cost[code] * bought), minlength=names.size)
    degrees = np.where(size > 1, size - 1, np.nan)
    reach = stats.t.ppf(0.5 + confidence / 2.0, degrees) * np.sqrt(size * off / degrees) / total
    order = np.argsort(cost, kind="stable")
    return HeatCost(
        supplier=names[order],
        lots=size[order].astype(np.int64),
        cost=cost[order],
        low=(cost - reach)[order],
        high=(cost + reach)[order],
        currency=currencies[0] if currencies else "",
    )
