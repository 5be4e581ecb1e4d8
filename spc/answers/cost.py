"""What the heat of a material costs, worked out from its own results and prices."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from spc.compare.between_suppliers.heat_cost import HeatCost, heat_cost
from spc.errors import InvalidInput
from spc.heat.compounds import PROFILE_FACTORS
from spc.intake import Catalogue
from spc.store.methods.comparisons import Comparable

# SHU per mg/kg that the heat of every method is brought to before money is divided by it.
COMMON_FACTOR: Final = PROFILE_FACTORS["capsaicin"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CostOfHeat:
    """What the heat of a material costs.

    Attributes
    ----------
    by_supplier
        At `COMMON_FACTOR`.
    method, own_factor
        By which the heat was measured, and its SHU per mg/kg; NaN where it states none, and then
        the heat is taken as reported.
    """

    by_supplier: HeatCost
    method: str
    own_factor: float


def cost_of_heat(
    hot: Comparable | None, *, own_factor: float, confidence: float
) -> CostOfHeat | str:
    """Money for heat, supplier by supplier.

    Parameters
    ----------
    hot
        Own results of heat of the material's lots, with their prices; None where there are none.
    own_factor
        SHU per mg/kg of the method; NaN if it states none.
    confidence
        Of each interval.

    Returns
    -------
    CostOfHeat, or a sentence that says why nothing can be said
    """
    if hot is None:
        return "No own result of heat is known for this material."
    if hot.basis not in ("", "as-is") or hot.unit != "SHU":
        return f"Heat is measured in {hot.unit}, {hot.basis}; prices are per kilogram as bought."
    lots = hot.lots.assign(kg=hot.lots["packages"] * hot.lots["package_kg"], heat=hot.lots["value"])
    factor = 1.0 if np.isnan(own_factor) else COMMON_FACTOR / own_factor
    try:
        cost = heat_cost(lots, confidence=confidence, factor=factor)
    except InvalidInput as problem:
        return f"{problem.what[:1].upper()}{problem.what[1:]} {problem.remedy}"
    if not cost.lots.size:
        return "No lot with own heat has both a price and a quantity."
    return CostOfHeat(by_supplier=cost, method=hot.method, own_factor=own_factor)


def factor_of_method(catalogue: Catalogue, method: str) -> float:
    """SHU per mg/kg that a method works with, of a total or of capsaicin.

    Parameters
    ----------
    catalogue
        The store's.
    method
        By which heat was measured.

    Returns
    -------
    float
        NaN if it states none.
    """
    stated = catalogue.method(method, "heat")
    factors = stated.factors if stated else {}
    return float(factors.get("total", factors.get("capsaicin", np.nan)))
