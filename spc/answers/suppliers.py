"""Suppliers of one material held against each other, as the screen, the command and cards tell."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Final, TypeVar

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc.acceptance import Line
from spc.answers.cost import Bought, bought, factor_of
from spc.answers.specified_lines import line_on
from spc.capability import Interval
from spc.charts.lots import Scale
from spc.compare.between_suppliers.consistency import share_of_mean
from spc.compare.between_suppliers.crop_drift import CropDrift, crop_drift
from spc.compare.between_suppliers.supplier_comparison import suppliers
from spc.compare.between_suppliers.supplier_results import SupplierComparison
from spc.compare.between_suppliers.within_lots import WithinLots, within_lots
from spc.compare.certificate_checks.certificate_comparison import (
    CertificateComparison,
    certificates,
)
from spc.errors import InvalidInput, TooFewLots, UnknownName
from spc.store import Store
from spc.store.methods.comparisons import Comparable

Floats = NDArray[np.float64]
Limits = tuple[float | None, float | None]
Told = TypeVar("Told")

CONFIDENCE: Final = 0.95
# Share of a mean within which a difference between suppliers does not matter, unless said.
MARGIN: Final = 0.10
# Share of the own result within which the next certificate is asked to lie.
WITHIN: Final = 0.10


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Compared:
    """One material and characteristic, its suppliers compared in every way there is.

    Arrays by supplier follow `suppliers.supplier`.  Where nothing can be said, a sentence says why.

    Attributes
    ----------
    found
        What the store holds that can be compared.
    line
        The newest specification's line on it, on the same basis; None where there is none.
    margin
        Share of the mean within which a difference between suppliers does not matter.
    suppliers
        Levels, spreads and chances.
    within
        Spread between the samples of one lot.
    drift, belief
        By supplier: its newest crop against the earlier ones, and its certificates against own
        results.  The intervals of all suppliers hold together with `CONFIDENCE`.
    bought
        What the heat of the material costs, whatever characteristic is compared; its intervals
        hold together too.
    """

    found: Comparable
    line: Line | None
    margin: float
    suppliers: SupplierComparison
    within: WithinLots
    drift: Mapping[str, CropDrift | str]
    belief: Mapping[str, CertificateComparison | str]
    bought: Bought | str

    @property
    def between_lots(self) -> Floats:
        """Coefficient of variation between lots, drawn towards all, with its ends.

        Shape (suppliers, 3).
        """
        told = self.suppliers
        spread = np.column_stack(
            (told.estimates.shrunken_standard_deviation, told.intervals.shrunken_standard_deviation)
        )
        return share_of_mean(spread, mean=told.estimates.mean, scale=self.found.scale)

    @property
    def within_a_lot(self) -> Floats:
        """Coefficient of variation between the samples of a lot, with its ends.

        Shape (suppliers, 3).
        """
        spread = np.column_stack((self.within.standard_deviation, self.within.interval))
        return share_of_mean(spread, mean=self.suppliers.estimates.mean, scale=self.found.scale)

    @property
    def drifting(self) -> tuple[str, ...]:
        """Suppliers whose newest crop differs from the earlier ones, by its interval."""
        return tuple(
            name
            for name, told in self.drift.items()
            if isinstance(told, CropDrift) and told.enough and apart(told.interval)
        )

    @property
    def biased(self) -> tuple[str, ...]:
        """Suppliers whose certificates differ from own results on average, by their interval."""
        return tuple(
            name
            for name, told in self.belief.items()
            if isinstance(told, CertificateComparison) and apart(told.agreement.bias_interval)
        )

    @property
    def uneven(self) -> tuple[str, ...]:
        """Suppliers whose lots differ within themselves more than those of the others."""
        names = np.array(self.within.supplier)[self.within.uneven]
        return tuple(str(name) for name in names)


def apart(interval: Interval) -> bool:
    """Whether an interval leaves zero out."""
    return interval.low > 0.0 or interval.high < 0.0


def compared(
    store: Store, material: str, characteristic: str, *, margin: float = MARGIN
) -> Compared:
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
    Compared

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
    hot = found if characteristic == "heat" else _hot(store, material)
    return held_together(
        found,
        line=line_on(
            catalogue, material=material, characteristic=characteristic, basis=found.basis
        ),
        margin=margin,
        hot=hot,
        own_factor=np.nan if hot is None else factor_of(catalogue, hot.method),
    )


def held_together(
    found: Comparable,
    *,
    line: Line | None,
    margin: float,
    hot: Comparable | None,
    own_factor: float,
) -> Compared:
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
        Heat of the same material and the factor of its method, as `bought.bought` takes them.

    Returns
    -------
    Compared

    Raises
    ------
    InvalidInput
        If there is no lot.
    """
    limits = _limits(line, found.scale)
    levels = _levels(found, limits, margin)
    joint = 1.0 - (1.0 - CONFIDENCE) / len(levels.supplier)
    lots = found.lots
    return Compared(
        found=found,
        line=line,
        margin=margin,
        suppliers=levels,
        within=within_lots(
            lots["spread"], lots["samples"], lots["supplier"], confidence=CONFIDENCE
        ),
        drift=_drift(found, joint),
        belief=_belief(found, limits, joint),
        bought=bought(hot, own_factor=own_factor, confidence=joint),
    )


def _hot(store: Store, material: str) -> Comparable | None:
    try:
        return store.compare.comparable(material, "heat")
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
    told: dict[str, CertificateComparison | str] = dict.fromkeys(
        sorted(set(found.lots["supplier"])), "No certificate of its lots states it."
    )
    for name, lots in said.groupby("supplier"):
        told[str(name)] = _or_why(
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
    return told


def _or_why(work: Callable[[], Told]) -> Told | str:
    """A result, or why there is none in a sentence."""
    try:
        return work()
    except TooFewLots as problem:
        return f"{problem.given} of its lots can be compared; {problem.needed} are needed."
    except InvalidInput as problem:
        return f"{problem.what[:1].upper()}{problem.what[1:]} {problem.remedy}"
