"""Suppliers of one material held against each other: levels, spreads, drift, belief, cost."""

from collections.abc import Callable
from functools import partial
from typing import Final, TypeVar

import numpy as np
import pandas as pd

from spc.acceptance import Line
from spc.answers.cost import cost_of_heat, factor_of_method
from spc.answers.specified_lines import HEAT, specified_line
from spc.answers.suppliers_compared import SuppliersCompared
from spc.charts.lots import Scale
from spc.compare.between_suppliers.crop_drift import CropDrift, crop_drift
from spc.compare.between_suppliers.supplier_comparison import suppliers
from spc.compare.between_suppliers.supplier_results import SupplierComparison
from spc.compare.between_suppliers.within_lots import within_lots
from spc.compare.certificate_checks.certificate_comparison import (
    CertificateComparison,
    certificates,
)
from spc.errors import InvalidInput, TooFewLots, UnknownName
from spc.store import Store
from spc.store.methods.comparisons import Comparable

Limits = tuple[float | None, float | None]
Answer = TypeVar("Answer")

CONFIDENCE: Final = 0.95
# Share of a mean within which a difference between suppliers does not matter, unless said.
MARGIN: Final = 0.10
# Share of the own result within which the next certificate is asked to lie.
WITHIN: Final = 0.10


def compare_suppliers(
    store: Store, material: str, characteristic: str = HEAT, *, margin: float = MARGIN
) -> SuppliersCompared:
    """Compare the suppliers of a material with what the store holds of them.

    Parameters
    ----------
    store
        Is read only.
    material, characteristic
        What is compared.
    margin
        Share of the mean within which a difference between suppliers does not matter.

    Returns
    -------
    SuppliersCompared

    Raises
    ------
    UnknownName
        If there is no such material, or no own result of the characteristic for it.
    InvalidInput
        If no lot has an exact value.
    """
    catalogue = store.catalogue()
    materials = [one.material for one in catalogue.materials]
    if material not in materials:
        raise UnknownName("material", material, known=materials)
    found = store.compare.comparable(material, characteristic)
    hot = found if characteristic == HEAT else _hot(store, material)
    return compare_own_results(
        found,
        line=specified_line(
            catalogue, material=material, characteristic=characteristic, basis=found.basis
        ),
        margin=margin,
        hot=hot,
        own_factor=np.nan if hot is None else factor_of_method(catalogue, hot.method),
    )


def compare_own_results(
    found: Comparable,
    *,
    line: Line | None,
    margin: float,
    hot: Comparable | None,
    own_factor: float,
) -> SuppliersCompared:
    """Compare the suppliers of lots at hand.

    Parameters
    ----------
    found
        The lots, and their certificates.
    line
        The specification's line on what is compared; None where there is none.
    margin
        Share of the mean within which a difference between suppliers does not matter.
    hot, own_factor
        Heat of the same material and the factor of its method, as `cost_of_heat` takes them.

    Returns
    -------
    SuppliersCompared

    Raises
    ------
    InvalidInput
        If there is no lot.
    """
    limits = _limits(line, found.scale)
    levels = _levels(found, limits, margin)
    joint = 1.0 - (1.0 - CONFIDENCE) / len(levels.supplier)
    lots = found.lots
    return SuppliersCompared(
        found=found,
        line=line,
        margin=margin,
        suppliers=levels,
        within=within_lots(
            lots["spread"], lots["samples"], lots["supplier"], confidence=CONFIDENCE
        ),
        drift=_drift(found, joint),
        belief=_belief(found, limits, joint),
        cost_of_heat=cost_of_heat(hot, own_factor=own_factor, confidence=joint),
    )


def _hot(store: Store, material: str) -> Comparable | None:
    try:
        return store.compare.comparable(material, HEAT)
    except UnknownName:
        return None


def _limits(line: Line | None, scale: Scale) -> Limits:
    """Limits that a lot can miss: of its mean, and above zero where the scale is logarithmic."""
    if line is None or line.requirement != "average":
        return None, None
    nothing = line.lower is not None and line.lower <= 0.0 and scale == "log"
    return None if nothing else line.lower, line.upper


def _levels(found: Comparable, limits: Limits, margin: float) -> SupplierComparison:
    lots = found.lots
    apart = margin if found.scale == "log" else margin * abs(float(lots["value"].mean()))
    return suppliers(
        # What lots do not share of their uncertainty comes from the samples alone.
        pd.DataFrame(
            {
                "supplier": lots["supplier"],
                "value": lots["value"],
                "uncertainty": lots["sampling"],
            }
        ),
        scale=found.scale,
        lower=limits[0],
        upper=limits[1],
        equivalence_margin=apart if apart > 0.0 else None,
        confidence=CONFIDENCE,
    )


def _drift(found: Comparable, confidence: float) -> dict[str, CropDrift | str]:
    years = found.lots["crop_year"].to_numpy(dtype=np.float64, na_value=np.nan)
    return {
        str(name): _or_why(
            partial(
                crop_drift,
                found.lots["value"].to_numpy()[places],
                years[places],
                scale=found.scale,
                confidence=confidence,
            )
        )
        for name, places in found.lots.groupby("supplier").indices.items()
    }


def _belief(
    found: Comparable, limits: Limits, confidence: float
) -> dict[str, CertificateComparison | str]:
    said = found.declared
    said = said.assign(day=said["received_at"].to_numpy(dtype="datetime64[D]").astype(np.float64))
    away = WITHIN if found.scale == "log" else WITHIN * abs(float(found.lots["value"].mean()))
    beliefs: dict[str, CertificateComparison | str] = dict.fromkeys(
        sorted(set(found.lots["supplier"])), "No certificate of its lots states it."
    )
    for name, lots in said.groupby("supplier"):
        beliefs[str(name)] = _or_why(
            partial(
                certificates,
                lots,
                scale=found.scale,
                lower=limits[0],
                upper=limits[1],
                within=away,
                confidence=confidence,
            )
        )
    return beliefs


def _or_why(work: Callable[[], Answer]) -> Answer | str:
    """A result, or why there is none in a sentence."""
    try:
        return work()
    except TooFewLots as problem:
        return f"{problem.given} of its lots can be compared; {problem.needed} are needed."
    except InvalidInput as problem:
        return f"{problem.what[:1].upper()}{problem.what[1:]} {problem.remedy}"
