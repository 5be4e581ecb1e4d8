"""A straight line between two methods, with what is not known of it."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from spc.capability.intervals import Interval

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedLine:
    """y = intercept + slope x, where both x and y are measured with error.

    Attributes
    ----------
    slope, intercept
        Of the line.
    slope_interval, intercept_interval
        Of each alone.
    slope_error, intercept_error
        Standard errors; NaN where the method gives intervals only.
    covariance
        Of slope and intercept; NaN as above.
    """

    slope: float
    intercept: float
    slope_interval: Interval
    intercept_interval: Interval
    slope_error: float = math.nan
    intercept_error: float = math.nan
    covariance: float = math.nan


def jackknifed(
    slope: float, intercept: float, left_out: tuple[Floats, Floats], *, confidence: float
) -> FittedLine:
    """A line with standard errors from the lines that leave out one lot each.

    Parameters
    ----------
    slope, intercept
        Of all lots.
    left_out : two arrays of shape (lots,)
        Slopes and intercepts without the first lot, without the second, and so on.
    confidence
        Of the intervals.

    Returns
    -------
    FittedLine

    Notes
    -----
    The standard deviation of the pseudo-values over the root of their number, and Student's t
    with two degrees fewer than lots.

    References
    ----------
    Linnet, K. (1990), Statistics in Medicine 9, 1463-1473; (1993), Clinical Chemistry 39, 424-432.
    """
    lots = left_out[0].size
    spread = np.cov(np.vstack(left_out), ddof=0) * (lots - 1)
    errors = np.sqrt(np.diag(spread))
    width = float(stats.t.ppf(0.5 + confidence / 2.0, lots - 2))
    return FittedLine(
        slope=slope,
        intercept=intercept,
        slope_interval=around(slope, width * float(errors[0])),
        intercept_interval=around(intercept, width * float(errors[1])),
        slope_error=float(errors[0]),
        intercept_error=float(errors[1]),
        covariance=float(spread[0, 1]),
    )


def around(value: float, reach: float) -> Interval:
    """The interval that reaches as far below a value as above it.

    Parameters
    ----------
    value, reach
        Its middle and half its width.

    Returns
    -------
    Interval
    """
    return Interval(low=value - reach, high=value + reach)
