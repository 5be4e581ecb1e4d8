"""How suppliers were compared: what from, by which methods, and how sure it is."""

import math
from typing import Final

import numpy as np

from dashboard.frame.words import count
from dashboard.suppliers.words.differences import nearness
from spc.answers.cost import COMMON_FACTOR, CostOfHeat
from spc.answers.suppliers import CONFIDENCE
from spc.answers.suppliers_compared import SuppliersCompared
from spc.compare.between_suppliers.consistency import FEWEST_FOR_CONSISTENCY
from spc.compare.between_suppliers.crop_drift import FEWEST_LOTS as FEWEST_OF_A_CROP
from spc.compare.between_suppliers.supplier_reasons import FEWEST_LOTS
from spc.compare.between_suppliers.within_lots import LARGER
from spc.digits import percent, written

_SURE: Final = f"{100 * CONFIDENCE:.0f} %"


def how(told: SuppliersCompared) -> list[str]:
    """What the comparison rests on, a paragraph for each picture."""
    return [
        _what(told),
        _consistency(told),
        f"**Drift.** The newest crop of each supplier against its earlier ones, {FEWEST_OF_A_CROP}"
        " lots of each at least (Welch 1947), and a straight line through the lots of the newest"
        f" crop in order of receipt. {_together(told)}",
        "**Certificates.** What each declares against the own result of the same lot: bias and"
        " limits that 95 % of certificates lie within (Bland & Altman 1999), the next one by"
        " prediction, E_n after ISO 13528. Causes are known factors and bases whose ratio fits."
        f" Patterns are tested one supplier at a time, p-values adjusted (Holm 1979)."
        f" {_together(told)}",
        _cost(told),
        "**Level.** Welch's analysis of variance, with its chance also drawn; pairs by Games and"
        " Howell (1976), and two one-sided tests (Schuirmann 1987) against the margin set: that no"
        " difference was found does not make two suppliers equivalent.",
    ]


def _what(told: SuppliersCompared) -> str:
    found, basis = told.found, f", {told.found.basis}" if told.found.basis else ""
    number = count(len(told.suppliers.supplier), "supplier")
    scale = (
        "Compared by logarithms: means are geometric, and differences are shares."
        if found.scale == "log"
        else f"Compared in {found.unit}."
    )
    return (
        f"**From what.** {found.characteristic.capitalize()} by {found.method}{basis}: one value a"
        f" lot, {count(len(found.lots), 'lot')} from {number}, adopted corrections made. {scale} Of"
        f" a supplier with fewer than {FEWEST_LOTS} lots nothing is said but what it delivered."
    )


def _consistency(told: SuppliersCompared) -> str:
    ranking = told.suppliers.ranking
    error = ranking.most_consistent_error
    largest = 0.0 if np.isnan(error).all() else float(np.nanmax(error))
    off = f", with a standard error of {percent(largest)} at most" if largest else ""
    return (
        "**Consistency.** Standard deviation between lots less what sampling them puts in, as a"
        " coefficient of variation; drawn towards that of all suppliers as far as its own lots are"
        f" few (Smyth 2004), each interval at {_SURE}. The chance of being the most consistent,"
        f" among suppliers with {FEWEST_FOR_CONSISTENCY} lots or more, is drawn"
        f" {written(ranking.draws)} times with seed {ranking.seed}{off}. Samples of one lot: pooled"
        f" over all lots of a supplier; called uneven where they differ more than {LARGER:g} times"
        " as much as those of the others (one-sided F test)."
    )


def _cost(told: SuppliersCompared) -> str:
    said = (
        "**Cost.** All money paid over all heat bought, lots with price, quantity and own heat"
        " only (ratio estimator, Cochran 1977); 1 000 SHU in one kilogram are a thousand heat"
        f" units. Price and heat are as bought. {_together(told)}"
    )
    if not isinstance(told.cost_of_heat, CostOfHeat):
        return said
    method, own_factor = told.cost_of_heat.method, told.cost_of_heat.own_factor
    if math.isnan(own_factor):
        return f"{said} Heat by {method} is taken as reported."
    return (
        f"{said} Heat by {method} is brought from its {own_factor:g} to"
        f" {COMMON_FACTOR:g} SHU per mg/kg, so that methods can be compared."
    )


def _together(told: SuppliersCompared) -> str:
    if len(told.suppliers.supplier) == 1:
        return f"The interval holds at {_SURE}."
    return f"All intervals of this picture hold together at {_SURE}."


def captions(told: SuppliersCompared) -> dict[str, str]:
    """What the marks of each picture stand for."""
    bar = "Bar: where it may truly lie"
    return {
        "consistency": f"Dot: lots of one supplier. {bar}. Diamond: samples of one lot. Beside the"
        " name: lots, and the chance of being the most consistent.",
        "drift": f"Rings: lots of the newest crop. Dot: their mean. {bar}. Beside the name: how"
        " many they are, and how they go on from lot to lot.",
        "belief": f"Dot: bias. {bar}. Thin line: where 95 % of certificates lie. Beside the name:"
        f" lots, and the chance that the next lies within {nearness(told)}.",
        "cost": f"Dot: all money over all heat. {bar}. A thousand heat units are 1 000 SHU in one"
        " kilogram. Beside the name: lots, and the cost.",
        "level": f"Dot: mean of one supplier's lots. {bar}. Beside the name: lots, and the chance"
        " that the next lies inside the specification's limits, where there are any.",
    }
