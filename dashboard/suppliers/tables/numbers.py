"""Everything that is said of suppliers against each other, as one table of numbers."""

from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from dashboard.suppliers.words import differences, questions
from spc.answers.cost import CostOfHeat
from spc.answers.suppliers_compared import SuppliersCompared
from spc.compare.between_suppliers.crop_drift import CropDrift
from spc.compare.certificate_checks.certificate_comparison import CertificateComparison

Floats = NDArray[np.float64]

_DRIFT: Final = (
    *("newest_crop", "crop_lots", "earlier_lots", "crop_change", "crop_change_low"),
    *("crop_change_high", "per_lot", "per_lot_low", "per_lot_high"),
)
_BELIEF: Final = (
    *("certificates", "bias", "bias_low", "bias_high", "agreement_low", "agreement_high"),
    *("next_within", "beyond_uncertainty"),
)
_COST: Final = ("cost", "cost_low", "cost_high", "cost_lots")


def supplier_numbers(told: SuppliersCompared) -> pd.DataFrame:
    """One line a supplier: what pictures, tables, files and programs are told.

    Parameters
    ----------
    told
        Suppliers of one material, compared.

    Returns
    -------
    DataFrame
        Means, and on linear scale changes and biases, in the unit; on log scale changes and biases
        are shares.  Coefficients of variation and chances are shares.  `beyond_uncertainty` counts
        certificates whose E_n lies beyond 1.  Cost is money per thousand heat units.  NaN where
        nothing can be said, and then `unsaid` says why.
    """
    found = told.suppliers
    estimates = pd.DataFrame(
        {
            "supplier": list(found.supplier),
            "lots": found.lots,
            **_interval("mean", np.column_stack((found.estimates.mean, found.intervals.mean))),
            "drawn_mean": found.estimates.shrunken_mean,
            **_interval("between_cv", told.between_lots),
            **_interval("within_cv", told.within_a_lot),
            "most_consistent": found.ranking.most_consistent,
            "inside_limits": found.ranking.inside,
        }
    )
    names = found.supplier
    crops = pd.DataFrame([_crop(told.drift[name]) for name in names], columns=list(_DRIFT))
    certified = pd.DataFrame(
        [_certified(told.belief[name], told) for name in names], columns=list(_BELIEF)
    )
    return pd.concat([estimates, crops, certified, _cost(told)], axis=1).assign(
        unsaid=[" ".join(questions.unsaid_of(name, told)) for name in names]
    )


def _interval(name: str, told: Floats) -> dict[str, Floats]:
    """An estimate with its ends, side by side."""
    return {name: told[:, 0], f"{name}_low": told[:, 1], f"{name}_high": told[:, 2]}


def _crop(crop: CropDrift | str) -> dict[str, Any]:
    if isinstance(crop, str):
        return {}
    return {
        "newest_crop": crop.crop,
        "crop_lots": crop.lots,
        "earlier_lots": crop.before,
        "crop_change": crop.change,
        "crop_change_low": crop.interval.low,
        "crop_change_high": crop.interval.high,
        "per_lot": crop.per_lot,
        "per_lot_low": crop.per_lot_interval.low,
        "per_lot_high": crop.per_lot_interval.high,
    }


def _certified(found: CertificateComparison | str, told: SuppliersCompared) -> dict[str, Any]:
    if isinstance(found, str):
        return {}
    seen = found.agreement
    return {
        "certificates": seen.lots,
        "bias": differences.share(seen.bias, told),
        "bias_low": differences.share(seen.bias_interval.low, told),
        "bias_high": differences.share(seen.bias_interval.high, told),
        "agreement_low": differences.share(seen.lower, told),
        "agreement_high": differences.share(seen.upper, told),
        "next_within": found.next.chance,
        "beyond_uncertainty": int(np.count_nonzero(np.abs(found.expanded_score) > 1.0)),
    }


def _cost(told: SuppliersCompared) -> pd.DataFrame:
    """In the order of the suppliers; those whose heat has no price are left empty."""
    if not isinstance(told.cost_of_heat, CostOfHeat):
        return pd.DataFrame(np.nan, index=range(len(told.suppliers.supplier)), columns=list(_COST))
    found = told.cost_of_heat.by_supplier
    frame = pd.DataFrame(
        dict(zip(_COST, (found.cost, found.low, found.high, found.lots), strict=True)),
        index=found.supplier,
    )
    return frame.reindex(list(told.suppliers.supplier)).reset_index(drop=True)
