"""Intervals for sums and differences of mean squares: modified large sample."""

import math
from dataclasses import dataclass, replace
from typing import Self

import numpy as np
from scipy import stats


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanSquare:
    """A mean square of an analysis of variance, with the weight that it is taken at.

    Attributes
    ----------
    value
        In the squared unit of the readings.
    degrees
        Of freedom.
    weight
        Above zero.
    """

    value: float
    degrees: int
    weight: float = 1.0

    @property
    def part(self) -> float:
        """What it adds."""
        return self.weight * self.value

    def weighed(self, weight: float) -> Self:
        """The same mean square taken at another weight."""
        return replace(self, weight=weight)

    def below(self, tail: float) -> float:
        """How far its expectation may lie below it, as a share of it."""
        return 1.0 - self.degrees / float(stats.chi2.isf(tail, self.degrees))

    def above(self, tail: float) -> float:
        """How far its expectation may lie above it, as a share of it."""
        return self.degrees / float(stats.chi2.ppf(tail, self.degrees)) - 1.0


def sum_interval(*terms: MeanSquare, confidence: float) -> tuple[float, float]:
    """Interval for the sum of what independent mean squares are expected to be.

    Parameters
    ----------
    *terms
        With their weights.
    confidence
        Of the interval.

    Returns
    -------
    low, high
        For one term the exact chi-squared interval.

    References
    ----------
    Graybill, F. A. and Wang, C. M. (1980), Journal of the American Statistical Association 75,
    869-873.
    """
    tail = (1.0 - confidence) / 2.0
    center = sum(term.part for term in terms)
    low = math.sqrt(sum((term.below(tail) * term.part) ** 2 for term in terms))
    high = math.sqrt(sum((term.above(tail) * term.part) ** 2 for term in terms))
    return center - low, center + high


def difference_interval(
    first: MeanSquare, second: MeanSquare, *, confidence: float
) -> tuple[float, float]:
    """Interval for the difference of what two independent mean squares are expected to be.

    Parameters
    ----------
    first, second
        With their weights.
    confidence
        Of the interval.

    Returns
    -------
    low, high
        Below zero where the data allow it; `low` is zero exactly where the F test of equal
        expectations at the same one-sided risk is on its limit, if the weights are equal.

    References
    ----------
    Ting, N., Burdick, R. K., Graybill, F. A., Jeyaratnam, S. and Lu, T.-F. C. (1990), Journal of
    Statistical Computation and Simulation 35, 135-143.
    Burdick, R. K., Borror, C. M. and Montgomery, D. C. (2003), Journal of Quality Technology 35,
    342-354.
    """
    tail = (1.0 - confidence) / 2.0
    large = float(stats.f.isf(tail, first.degrees, second.degrees))
    small = float(stats.f.ppf(tail, first.degrees, second.degrees))
    low = _reach(first.below(tail), second.above(tail), large, first.part, second.part)
    high = _reach(first.above(tail), second.below(tail), small, first.part, second.part)
    center = first.part - second.part
    return center - low, center + high


def _reach(first: float, second: float, f: float, part: float, other: float) -> float:
    """Root of the variance on one side; its third term makes it exact where one part vanishes."""
    both = ((f - 1.0) ** 2 - (first * f) ** 2 - second**2) / f
    variance = (first * part) ** 2 + (second * other) ** 2 + both * part * other
    return float(np.sqrt(max(0.0, variance)))
