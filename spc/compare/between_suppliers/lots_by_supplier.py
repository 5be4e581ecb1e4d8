"""One value a lot, sorted by supplier: what every comparison of suppliers starts from."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.charts.refusals import ROUNDING

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

# With fewer suppliers nothing is known of how suppliers differ, so none borrows from the others.
FEWEST_SUPPLIERS: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroupedLots:
    """Lots supplier after supplier, each supplier's in rising order.

    Attributes
    ----------
    origin
        The smallest value, taken from all of them before any sum: values that agree in many
        leading digits then keep the digits they differ in.
    value : shape (lots,)
        Values less `origin`.
    starts, lots : shape (suppliers,)
        Index of each supplier's first lot, and how many there are.
    mean, variance : shape (suppliers,)
        Of `value`, about each supplier's own mean and with its own n - 1; NaN for the variance of
        one lot.
    measurement : shape (suppliers,)
        Mean of the squared standard uncertainties of each supplier's values; zero if not stated.
    """

    origin: float
    value: Floats
    starts: Integers
    lots: Integers
    mean: Floats
    variance: Floats
    measurement: Floats

    @property
    def degrees(self) -> Integers:
        """Degrees of freedom of each supplier's variance."""
        return self.lots - 1

    @property
    def medians(self) -> Floats:
        """Of each supplier's values, less `origin`."""
        low = self.starts + (self.lots - 1) // 2
        high = self.starts + self.lots // 2
        return np.asarray((self.value[low] + self.value[high]) / 2.0, dtype=np.float64)

    @property
    def spread(self) -> NDArray[np.bool_]:
        """Whether a supplier's values differ by more than rounding does."""
        first, last = self.value[self.starts], self.value[self.starts + self.lots - 1]
        largest = np.maximum(np.abs(self.origin + first), np.abs(self.origin + last))
        return np.asarray(last - first > ROUNDING * largest)

    def of(self, chosen: NDArray[np.bool_]) -> Self:
        """The lots of chosen suppliers only."""
        lots = self.lots[chosen]
        return type(self)(
            origin=self.origin,
            value=self.value[np.repeat(chosen, self.lots)],
            starts=np.cumsum(lots) - lots,
            lots=lots,
            mean=self.mean[chosen],
            variance=self.variance[chosen],
            measurement=self.measurement[chosen],
        )


def grouped_lots(
    value: ArrayLike | Sequence[Decimal], supplier: ArrayLike, *, uncertainty: ArrayLike = 0.0
) -> GroupedLots:
    """Sort lots by supplier and reduce them to what comparisons need.

    Parameters
    ----------
    value : shape (lots,)
        Finite, on the scale of the comparison.  From Python's decimal numbers the origin is taken
        exactly, before they become binary.
    supplier : shape (lots,)
        Code of each lot's supplier, from 0 without gaps.
    uncertainty : shape (lots,) or one for all
        Standard uncertainty of each value, on the same scale.

    Returns
    -------
    GroupedLots

    Notes
    -----
    Sums of squares are taken in two passes, about the mean, with the correction for the rounding
    of that mean.

    References
    ----------
    Chan, T. F., Golub, G. H. and LeVeque, R. J. (1983), The American Statistician 37, 242-247.
    """
    raw = np.asarray(value)
    origin = raw.min()
    worked = np.asarray(raw - origin, dtype=np.float64)
    code = np.asarray(supplier)
    order = np.lexsort((worked, code))
    ordered = worked[order]
    lots = np.bincount(code)
    starts = np.cumsum(lots) - lots
    mean = np.add.reduceat(ordered, starts) / lots
    off = ordered - np.repeat(mean, lots)
    squares = np.add.reduceat(off**2, starts) - np.add.reduceat(off, starts) ** 2 / lots
    known = np.broadcast_to(np.asarray(uncertainty, dtype=np.float64), worked.shape)[order]
    return GroupedLots(
        origin=float(origin),
        value=ordered,
        starts=starts,
        lots=lots,
        mean=mean,
        variance=squares / np.where(lots > 1, lots - 1.0, np.nan),
        measurement=np.add.reduceat(known**2, starts) / lots,
    )
