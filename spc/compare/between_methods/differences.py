"""Paired differences: bias, limits of agreement, and whether they grow."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from spc import capability
from spc.capability.intervals import Interval
from spc.compare.between_methods.fitted_line import around

Floats = NDArray[np.float64]

# Share of all differences that the limits of agreement hold.
COVERAGE: Final = 0.95


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """How far two methods lie apart, and how much that varies from lot to lot.

    Attributes
    ----------
    bias, bias_interval
        Mean difference; in unit, or of natural logarithms.
    sd
        Standard deviation of the differences.
    lower, upper
        Limits of agreement: 95 % of all differences lie between them if bias and standard
        deviation are as found.
    lower_interval, upper_interval
        Of each limit alone.
    lots, confidence
        Number of differences, and confidence of each interval.
    """

    bias: float
    bias_interval: Interval
    sd: float
    lower: float
    upper: float
    lower_interval: Interval
    upper_interval: Interval
    lots: int
    confidence: float

    @property
    def bias_error(self) -> float:
        """Standard error of the bias."""
        return self.sd / math.sqrt(self.lots)

    def prediction(self, confidence: float = 0.95) -> Interval:
        """Where the difference of the next lot lies with this confidence."""
        return around(
            self.bias, float(stats.t.ppf(0.5 + confidence / 2, self.lots - 1)) * self._next
        )

    def chance_within(self, low: float, high: float) -> float:
        """Chance that the difference of the next lot lies between two values.

        By the predictive t distribution: rather too low than too high while lots are few.
        """
        if self.sd == 0.0:
            return float(low <= self.bias <= high)
        ends = (np.array([low, high]) - self.bias) / self._next
        return float(np.diff(stats.t.cdf(ends, self.lots - 1))[0])

    @property
    def _next(self) -> float:
        return self.sd * math.sqrt(1.0 + 1.0 / self.lots)


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """How differences grow with something else.

    Attributes
    ----------
    slope, interval
        Growth for one unit more of it.
    p_value
        Chance of a steeper slope, either way, where there is none.
    """

    slope: float
    interval: Interval
    p_value: float


def agreement(difference: Floats, *, confidence: float) -> Agreement:
    """Bias and limits of agreement of paired differences.

    Parameters
    ----------
    difference : shape (lots,)
        Of the pairs, in unit or of logarithms; at least two.
    confidence
        Of each interval.

    Returns
    -------
    Agreement

    Notes
    -----
    The limits are normal percentiles with the mean and standard deviation found; their intervals
    are exact for normal differences, and longer on the outer side than on the inner one.

    References
    ----------
    Bland, J. M. and Altman, D. G. (1986), Lancet 327, 307-310; (1999), Statistical Methods in
    Medical Research 8, 135-160.
    Carkeet, A. (2015), Optometry and Vision Science 92(3), doi 10.1097/OPX.0000000000000513: exact
    intervals by noncentral t.
    """
    lots = difference.size
    bias, sd = float(difference.mean()), float(difference.std(ddof=1))
    width = float(stats.t.ppf(0.5 + confidence / 2.0, lots - 1))
    reach = float(stats.norm.ppf(0.5 + COVERAGE / 2.0)) * sd
    inner, outer = (_limit_factor(lots, bound) * sd for bound in _two_sided(confidence))
    return Agreement(
        bias=bias,
        bias_interval=around(bias, width * sd / math.sqrt(lots)),
        sd=sd,
        lower=bias - reach,
        upper=bias + reach,
        lower_interval=Interval(low=bias - outer, high=bias - inner),
        upper_interval=Interval(low=bias + inner, high=bias + outer),
        lots=lots,
        confidence=confidence,
    )


def trend(at: Floats, difference: Floats, *, confidence: float) -> Trend | None:
    """Whether differences grow with the level, or with time.

    Parameters
    ----------
    at : shape (lots,)
        Level or time of each pair.
    difference : shape (lots,)
        Of the pairs.
    confidence
        Of the interval.

    Returns
    -------
    Trend or None
        None with fewer than three pairs, or all of them at one place.

    Notes
    -----
    Least squares.  On the mean of both methods it is the test of Pitman and Morgan for unequal
    spread: a method that reads high lots higher cannot be told from one that only scatters more,
    unless the scatter of each is known.

    References
    ----------
    Bland, J. M. and Altman, D. G. (1999), Statistical Methods in Medical Research 8, 135-160,
    section 3.2.  Pitman, E. J. G. (1939), Biometrika 31, 9-12.
    """
    off = at - at.mean()
    squares, degrees = float(off @ off), at.size - 2
    if degrees < 1 or squares == 0.0:
        return None
    slope = float(off @ difference) / squares
    residual = difference - difference.mean() - slope * off
    error = math.sqrt(float(residual @ residual) / degrees / squares)
    t = abs(slope) / error if error > 0.0 else math.inf if slope else 0.0
    return Trend(
        slope=slope,
        interval=around(slope, float(stats.t.ppf(0.5 + confidence / 2.0, degrees)) * error),
        p_value=2.0 * float(stats.t.sf(t, degrees)),
    )


def _two_sided(confidence: float) -> tuple[float, float]:
    return (1.0 - confidence) / 2.0, (1.0 + confidence) / 2.0


def _limit_factor(lots: int, bound: float) -> float:
    """Distance from the mean, in standard deviations found, that a limit exceeds so seldom."""
    return capability.tolerance_factor(
        lots, content=0.5 + COVERAGE / 2.0, confidence=bound, sides=1
    )
