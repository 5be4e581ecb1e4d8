"""From the suppliers compared, on the scale of the comparison, to all of them, in their unit."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import special

from spc.charts.lots import Scale
from spc.compare.between_suppliers.consistency import spreads, standard_deviations
from spc.compare.between_suppliers.pairs import Pairs
from spc.compare.between_suppliers.ranking import DrawnSuppliers, Ranking
from spc.compare.between_suppliers.supplier_results import SupplierEstimates, SupplierIntervals

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SupplierView:
    """How results are told.

    Attributes
    ----------
    scale
        Of the comparison.
    enough : shape (suppliers,)
        Which suppliers were compared; the others are told as NaN.
    confidence
        Of the intervals.
    """

    scale: Scale
    enough: NDArray[np.bool_]
    confidence: float

    def estimates(self, drawn: DrawnSuppliers) -> tuple[SupplierEstimates, SupplierIntervals]:
        """Means and spreads, from each supplier's lots and drawn towards all, with intervals."""
        groups, means = drawn.groups, drawn.means
        own = spreads(groups, scale=self.scale, confidence=self.confidence)
        error = np.sqrt(groups.variance / groups.lots)
        mean = self._about(groups.mean, error, groups.degrees)
        shrunken_mean = self._about(means.mean, means.error, drawn.spreads.degrees)
        level = self._in_unit(groups.origin + np.hstack((mean, shrunken_mean)))
        spread = standard_deviations(
            drawn.spreads.variance,
            drawn.spreads.degrees,
            measurement=groups.measurement,
            confidence=self.confidence,
        )
        placed = self._placed
        return SupplierEstimates(
            mean=placed(level[:, 0]),
            shrunken_mean=placed(level[:, 3]),
            weight=placed(means.weight),
            standard_deviation=placed(own.standard_deviation),
            shrunken_standard_deviation=placed(spread[:, 0]),
            cv=placed(own.cv),
        ), SupplierIntervals(
            mean=placed(level[:, 1:3]),
            shrunken_mean=placed(level[:, 4:]),
            standard_deviation=placed(own.standard_deviation_interval),
            shrunken_standard_deviation=placed(spread[:, 1:]),
            cv=placed(own.cv_interval),
        )

    def pairs(self, found: Pairs) -> Pairs:
        """Pairs with positions among all suppliers, and differences in the unit or as ratios."""
        at = np.flatnonzero(self.enough)
        return replace(
            found,
            first=at[found.first],
            second=at[found.second],
            difference=self._in_unit(found.difference),
            low=self._in_unit(found.low),
            high=self._in_unit(found.high),
        )

    def ranking(self, found: Ranking) -> Ranking:
        """Chances of all suppliers."""
        return replace(
            found,
            most_consistent=self._placed(found.most_consistent),
            most_consistent_error=self._placed(found.most_consistent_error),
            inside=self._placed(found.inside),
            inside_error=self._placed(found.inside_error),
        )

    def _about(self, mean: Floats, error: Floats, degrees: Floats | NDArray[np.int64]) -> Floats:
        """Estimate and ends by Student's t, side by side."""
        reach = special.stdtrit(degrees, 0.5 + self.confidence / 2.0) * error
        return np.column_stack((mean, mean - reach, mean + reach))

    def _in_unit(self, x: Floats) -> Floats:
        with np.errstate(over="ignore"):
            return np.exp(x) if self.scale == "log" else x

    def _placed(self, x: Floats) -> Floats:
        whole = np.full((self.enough.size, *x.shape[1:]), np.nan)
        whole[self.enough] = x
        return whole
