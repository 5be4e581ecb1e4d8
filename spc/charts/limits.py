"""Control limits from a baseline of lots."""

import math
from dataclasses import dataclass
from typing import Final, Literal, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from spc.charts.constants import c4, d2, d3
from spc.charts.refusals import ROUNDING, finite_lots
from spc.errors import InvalidInput, NoSpread, NotPositive

SigmaMethod = Literal["moving range", "median moving range", "standard deviation"]

MOVING_RANGE_SPAN: Final = 2
FEWEST_LOTS: Final = 2
# Median of |a - b| for two standard normal values, 0.9538725524...
MEDIAN_RANGE_OF_TWO: Final = math.sqrt(2.0) * float(stats.norm.ppf(0.75))


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Centre line and control limits, in the unit of the values they came from.

    Attributes
    ----------
    center, lower, upper
        Centre line and limits.
    sigma
        Estimated standard deviation of one plotted value.
    size
        Number of lots the estimate rests on.
    width
        Distance from centre line to limit, in sigmas.
    """

    center: float
    sigma: float
    lower: float
    upper: float
    size: int
    width: float

    @classmethod
    def around(cls, center: float, *, sigma: float, size: int, width: float) -> Self:
        """Limits at the same distance, `width` sigmas, on either side of a centre line."""
        return cls(
            center=center,
            sigma=sigma,
            lower=center - width * sigma,
            upper=center + width * sigma,
            size=size,
            width=width,
        )

    def scores(self, x: ArrayLike) -> NDArray[np.float64]:
        """Distance of each value from the centre line, in sigmas; same shape as `x`."""
        values = np.asarray(x, dtype=np.float64)
        return np.asarray((values - self.center) / self.sigma, dtype=np.float64)


def individuals(x: ArrayLike, *, sigma: SigmaMethod = "moving range", width: float = 3.0) -> Limits:
    """Limits for single lot values.

    Parameters
    ----------
    x : shape (lots,)
        One value per lot in order of receipt, any unit; finite.
    sigma
        What the standard deviation of one lot is estimated from.
    width
        Distance from centre line to limit, in sigmas.

    Returns
    -------
    Limits
        In the unit of `x`.

    Raises
    ------
    TooFewLots
        If fewer than two lots are given.
    NoSpread
        If all values are equal.
    InvalidInput
        If `x` is not one-dimensional or not finite (the position counts from 0), `width`
        is not positive, `sigma` is unknown, or the median moving range is zero.

    Notes
    -----
    Mean moving range / d2(2), median moving range / 0.95387 or standard deviation / c4.
    Moving ranges see only what changes from lot to lot, so a drift does not widen the
    limits meant to show it; their median also ignores a few wild lots.  The standard
    deviation is more efficient where the baseline is known to be steady.

    References
    ----------
    ISO 7870-2, control charts for individual values and moving ranges.
    NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.2.
    """
    _check_width(width, "individuals")
    values = _lot_values(x, "individuals")
    estimate = _SIGMA[_known(sigma)](values)
    return Limits.around(float(values.mean()), sigma=estimate, size=values.size, width=width)


def moving_range(x: ArrayLike, *, width: float = 3.0) -> Limits:
    """Limits for the differences between each lot and the one before.

    Parameters
    ----------
    x : shape (lots,)
        One value per lot in order of receipt, any unit; finite.
    width
        Distance from centre line to limit, in sigmas of a moving range.

    Returns
    -------
    Limits
        For |x[i] - x[i-1]|, in the unit of `x`; `lower` is never below zero, and `size`
        counts lots, not differences.

    Raises
    ------
    TooFewLots
        If fewer than two lots are given.
    NoSpread
        If all values are equal.
    InvalidInput
        If `x` is not one-dimensional or not finite, or if `width` is not positive.

    References
    ----------
    ISO 7870-2, control charts for individual values and moving ranges.
    """
    _check_width(width, "moving_range")
    values = _lot_values(x, "moving_range")
    center = float(_moving_ranges(values).mean())
    sigma = center * d3(MOVING_RANGE_SPAN) / d2(MOVING_RANGE_SPAN)
    return Limits(
        center=center,
        sigma=sigma,
        lower=max(0.0, center - width * sigma),
        upper=center + width * sigma,
        size=values.size,
        width=width,
    )


def on_log_scale(x: ArrayLike) -> NDArray[np.float64]:
    """Natural logarithms of positive values.

    Parameters
    ----------
    x : any shape
        Positive values in any unit; NaN, a lot without a value, stays NaN.

    Returns
    -------
    array of the shape of `x`
        Natural logarithms.

    Raises
    ------
    NotPositive
        If a value is zero or negative; `position` counts from 0.

    References
    ----------
    Limpert, E., Stahel, W. A. and Abbt, M. (2001), BioScience 51, 341-352.
    """
    values = np.asarray(x, dtype=np.float64)
    refused = np.flatnonzero(values <= 0.0)
    if refused.size:
        position = int(refused[0])
        raise NotPositive(
            value=float(values.flat[position]), position=position, where="on_log_scale"
        )
    return np.asarray(np.log(values), dtype=np.float64)


def _lot_values(x: ArrayLike, where: str) -> NDArray[np.float64]:
    values = finite_lots(x, where=where, fewest=FEWEST_LOTS)
    if _moving_ranges(values).mean() <= ROUNDING * np.abs(values).max():
        raise NoSpread(value=float(values[0]), lots=values.size, where=where)
    return values


def _check_width(width: float, where: str) -> None:
    if not 0.0 < width < math.inf:
        raise InvalidInput(
            f"a width of {width:g} sigmas draws no limits.",
            where=where,
            remedy="Give a positive number, usually 3.",
        )


def _known(sigma: str) -> str:
    if sigma not in _SIGMA:
        raise InvalidInput(
            f"sigma cannot be estimated from {sigma!r}.",
            where="individuals",
            remedy=f"Use one of: {', '.join(_SIGMA)}.",
        )
    return sigma


def _moving_ranges(values: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(np.abs(np.diff(values)), dtype=np.float64)


def _from_mean_range(values: NDArray[np.float64]) -> float:
    return float(_moving_ranges(values).mean()) / d2(MOVING_RANGE_SPAN)


def _from_median_range(values: NDArray[np.float64]) -> float:
    median = float(np.median(_moving_ranges(values)))
    if median == 0.0:
        raise InvalidInput(
            "at least half of the moving ranges are zero, and so is their median.",
            where="individuals",
            remedy='Use sigma="moving range", or results with more digits.',
        )
    return median / MEDIAN_RANGE_OF_TWO


def _from_standard_deviation(values: NDArray[np.float64]) -> float:
    return float(values.std(ddof=1)) / c4(values.size)


_SIGMA: Final = {
    "moving range": _from_mean_range,
    "median moving range": _from_median_range,
    "standard deviation": _from_standard_deviation,
}
