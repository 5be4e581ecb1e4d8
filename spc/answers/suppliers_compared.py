"""What is said of the suppliers of one material held against each other."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spc.acceptance import Line
from spc.answers.cost import CostOfHeat
from spc.capability import Interval
from spc.compare.between_suppliers.consistency import share_of_mean
from spc.compare.between_suppliers.crop_drift import CropDrift
from spc.compare.between_suppliers.supplier_results import SupplierComparison
from spc.compare.between_suppliers.within_lots import WithinLots
from spc.compare.certificate_checks.certificate_comparison import CertificateComparison
from spc.compare.certificate_checks.coarse_rounding import CoarseRounding, coarse_rounding
from spc.compare.certificate_checks.printed_digits import printed_digits
from spc.store.methods.comparisons import Comparable

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SuppliersCompared:
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
    cost_of_heat
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
    cost_of_heat: CostOfHeat | str

    @property
    def between_lots(self) -> Floats:
        """Coefficient of variation between lots, drawn towards all, with its ends.

        Shape (suppliers, 3).
        """
        levels = self.suppliers
        spread = np.column_stack(
            (
                levels.estimates.shrunken_standard_deviation,
                levels.intervals.shrunken_standard_deviation,
            )
        )
        return share_of_mean(spread, mean=levels.estimates.mean, scale=self.found.scale)

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
            for name, found in self.drift.items()
            if isinstance(found, CropDrift) and found.enough and leaves_zero_out(found.interval)
        )

    @property
    def biased(self) -> tuple[str, ...]:
        """Suppliers whose certificates differ from own results on average, by their interval."""
        return tuple(
            name
            for name, found in self.belief.items()
            if isinstance(found, CertificateComparison)
            and leaves_zero_out(found.agreement.bias_interval)
        )

    @property
    def roundings(self) -> dict[str, CoarseRounding | None]:
        """How coarsely each supplier's certificates are rounded, where they can be compared."""
        printed = self.found.declared.groupby("supplier")["printed"]
        return {
            str(name): coarse_rounding(printed_digits(texts.tolist()))
            for name, texts in printed
            if isinstance(self.belief[str(name)], CertificateComparison)
        }

    @property
    def uneven(self) -> tuple[str, ...]:
        """Suppliers whose lots differ within themselves more than those of the others."""
        names = np.array(self.within.supplier)[self.within.uneven]
        return tuple(str(name) for name in names)


def leaves_zero_out(interval: Interval) -> bool:
    """Whether an interval leaves zero out, so that a difference is told from none.

    Parameters
    ----------
    interval
        Of a difference, or of a ratio on log scale.

    Returns
    -------
    bool
    """
    return interval.low > 0.0 or interval.high < 0.0
