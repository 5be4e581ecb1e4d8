"""From the store's stock to lots that a recipe can take: what is offered, and what is not and why.

A recipe mixes kilograms, so it needs each lot's arithmetic mean; the store keeps the mean that the
lot's verdict rests on, which is geometric where a characteristic is judged in logs.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Literal

import pandas as pd

from spc.answers.specified_lines import HEAT
from spc.blend.outlook.learning import LearnedBias
from spc.blend.problem.problem import LeftOut
from spc.blend.problem.stock import MOISTURE, Assay, StockLot, mixing_assay
from spc.intake import Catalogue
from spc.store.blends.stock import Stock


@dataclass(frozen=True, slots=True, kw_only=True)
class LotNeeds:
    """What a lot must have for a recipe.

    Attributes
    ----------
    materials
        Those that may go in.
    basis
        By characteristic that is limited, the basis of the limit.
    within_sigma
        By material, standard deviation of the logarithms portion to portion.
    today
        The day of the store.
    heat_bias
        What earlier blends taught of the model; None for nothing.
    """

    materials: tuple[str, ...]
    basis: Mapping[str, str]
    within_sigma: Mapping[str, float]
    today: date
    heat_bias: LearnedBias | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BlendStock:
    """What a recipe may draw from.

    Attributes
    ----------
    lots
        Lots with a price and every result asked for, and barred ones, which know why.
    left_out
        Lots of which something is there that cannot be reckoned with, and why.
    currency
        Of all prices.
    """

    lots: tuple[StockLot, ...]
    left_out: tuple[LeftOut, ...]
    currency: str

    @property
    def offered(self) -> tuple[StockLot, ...]:
        """Lots that may go in."""
        return tuple(lot for lot in self.lots if not lot.barred)


def within_sigmas(cvs: Mapping[str, float | None]) -> dict[str, float]:
    """Spread of the logarithms within a lot, from each material's relative spread.

    Parameters
    ----------
    cvs
        Coefficient of variation portion to portion by material; None counts as no spread.

    Returns
    -------
    dict
        By material.
    """
    return {name: math.sqrt(math.log1p((cv or 0.0) ** 2)) for name, cv in cvs.items()}


def lot_needs(
    known: Catalogue,
    materials: Sequence[str],
    basis: Mapping[str, str],
    *,
    today: date,
    heat_bias: LearnedBias | None = None,
) -> LotNeeds:
    """What a lot must have, by what the catalogue knows of the materials.

    Parameters
    ----------
    known
        The store's catalogue.
    materials
        Those that may go in.
    basis
        By characteristic that is limited, the basis of the limit.
    today
        The day of the store.
    heat_bias
        What earlier blends taught of the model; None for nothing.

    Returns
    -------
    LotNeeds
    """
    cvs = {one.material: one.within_lot_cv for one in known.materials}
    return LotNeeds(
        materials=tuple(materials),
        basis=dict(basis),
        within_sigma=within_sigmas(cvs),
        today=today,
        heat_bias=heat_bias,
    )


def blend_stock(stock: Stock, needs: LotNeeds) -> BlendStock:
    """The lots that a recipe may draw from.

    Parameters
    ----------
    stock
        All lots, from `store.blends.stock()`.
    needs
        What a lot must have.

    Returns
    -------
    BlendStock
        Without lots of which nothing is left.
    """
    mine = stock.lots[stock.lots["material"].isin(needs.materials)]
    there = mine[mine["available_kg"].isna() | (mine["available_kg"] > 0.0)]
    currency = _currency(there)
    known = {str(lot): rows for lot, rows in stock.assays.groupby("lot", sort=False)}
    lots, left_out = [], []
    for row in there.to_dict("records"):
        rows = known.get(row["lot"], stock.assays.iloc[:0])
        lacks = "" if row["barred"] else "; ".join(_lacks(row, rows, needs, currency))
        if lacks:
            left_out.append(LeftOut(code=row["lot"], reason=lacks))
        else:
            lots.append(_lot(row, rows, needs))
    return BlendStock(lots=tuple(lots), left_out=tuple(left_out), currency=currency)


def _currency(lots: pd.DataFrame) -> str:
    """The currency that most lots are priced in."""
    priced = lots.loc[lots["price_per_kg"].notna() & (lots["barred"] == ""), "currency"]
    return str(priced.mode().iloc[0]) if len(priced) else ""


def _lacks(
    row: Mapping[Any, Any], assays: pd.DataFrame, needs: LotNeeds, currency: str
) -> Iterable[str]:
    """Why a lot that may be used cannot be reckoned with."""
    if math.isnan(row["price_per_kg"]):
        yield "it has no price"
    elif row["currency"] != currency:
        yield f"its price is in {row['currency']}, those of the others in {currency}"
    found = {one["characteristic"]: one for one in assays.to_dict("records")}
    for name in _needed(found, needs.basis):
        side = found[name]["bound"] if name in found else ""
        if name not in found:
            yield f"it has no result for {name}"
        elif side:
            yield f"its {name} is known only to lie {side} what could be read"


def _needed(found: Mapping[Any, Mapping[Any, Any]], basis: Mapping[str, str]) -> Sequence[str]:
    """What is limited, and moisture where a value has to change its basis."""
    changes = any(
        basis[name] == "dry" or found[name]["basis"] == "dry" for name in basis if name in found
    )
    return [*basis, *([MOISTURE] if changes and MOISTURE not in basis else [])]


def _lot(row: Mapping[Any, Any], assays: pd.DataFrame, needs: LotNeeds) -> StockLot:
    made = {
        one["characteristic"]: _assay(one, row["material"], needs)
        for one in assays.to_dict("records")
        if not one["bound"]
    }
    return StockLot(
        code=row["lot"],
        material=row["material"],
        supplier=row["supplier"] or "",
        origin=row["origin"],
        price_per_kg=_or(row["price_per_kg"], 0.0),
        available_kg=max(0.0, _or(row["available_kg"], 0.0)),
        assays=made,
        bag_kg=_or(row["bag_kg"], None),
        opened_kg=min(_or(row["opened_kg"], 0.0), max(0.0, _or(row["available_kg"], 0.0))),
        age_days=float(row["age_days"]),
        expires_in_days=_stands_for(row, made, needs.today),
        barred=row["barred"],
    )


def _assay(one: Mapping[Any, Any], material: str, needs: LotNeeds) -> Assay:
    basis: Literal["as-is", "dry"] = "dry" if one["basis"] == "dry" else "as-is"
    assay = Assay(
        value=one["mean"],
        standard_uncertainty=one["sampling"],
        unit=one["unit"],
        method=one["method"],
        basis=basis,
        shared_uncertainty=one["method_part"],
        tests=max(1, int(one["samples"])),
        age_days=_or(one["age_days"], None),
    )
    if one["scale"] == "log":
        # One composite sample mixes as the lot does; only the mean of several is geometric.
        spread = needs.within_sigma.get(material, 0.0) * math.sqrt(1.0 - 1.0 / assay.tests)
        assay = mixing_assay(assay, within_sigma=spread)
    learnt = needs.heat_bias
    if one["characteristic"] == HEAT and learnt is not None and learnt.can_be_said:
        value, shared = learnt.corrected(assay.value, assay.shared_uncertainty)
        own = assay.standard_uncertainty * value / assay.value
        assay = replace(assay, value=value, shared_uncertainty=shared, standard_uncertainty=own)
    return assay


def _stands_for(row: Mapping[Any, Any], assays: Mapping[str, Assay], today: date) -> float | None:
    """Days until the decision on a lot or the first of its results lapses; None if none does."""
    ends = []
    if row["expires_on"]:
        ends.append(float((date.fromisoformat(row["expires_on"]) - today).days))
    valid = _or(row["valid_days"], None)
    ages = [one.age_days for one in assays.values() if one.age_days is not None]
    if valid is not None and ages:
        ends.append(valid - max(ages))
    return min(ends, default=None)


def _or(value: float, otherwise: Any) -> Any:
    return otherwise if math.isnan(value) else value
