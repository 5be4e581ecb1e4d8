"""Confidence intervals of capability indices."""

import math
from dataclasses import dataclass

from scipy import optimize, stats


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """Two-sided confidence interval.

    Attributes
    ----------
    low, high
        Ends.
    """

    low: float
    high: float


def spread_interval(value: float, *, degrees: float, confidence: float) -> Interval:
    """Of an index whose only estimate is a standard deviation: Cp, Pp, and by Boyles Cpm.

    Parameters
    ----------
    value
        Of the index.
    degrees
        Degrees of freedom of the standard deviation.
    confidence
        Of the interval.

    Returns
    -------
    Interval
        Exact for normal values where the degrees of freedom are.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, section 6.1.6: chi-squared.
    """
    tail = (1.0 - confidence) / 2.0
    return Interval(
        low=value * math.sqrt(float(stats.chi2.ppf(tail, degrees)) / degrees),
        high=value * math.sqrt(float(stats.chi2.isf(tail, degrees)) / degrees),
    )


def nearest_interval(value: float, *, n: int, degrees: float, confidence: float) -> Interval:
    """Of an index to the nearer limit: Cpk, Ppk.

    Parameters
    ----------
    value
        Of the index.
    n
        Number of values behind the mean.
    degrees
        Degrees of freedom of the standard deviation.
    confidence
        Of the interval.

    Returns
    -------
    Interval
        Approximate.

    References
    ----------
    Bissell, A. F. (1990), Applied Statistics 39, 331-340.
    """
    reach = float(stats.norm.ppf(0.5 + confidence / 2.0))
    error = reach * math.sqrt(1.0 / (9.0 * n) + value**2 / (2.0 * degrees))
    return Interval(low=value - error, high=value + error)


def lower_bound(value: float, *, n: int, confidence: float) -> float:
    """One-sided lower bound of an index to one limit, mean and sigma from the same n values.

    Parameters
    ----------
    value
        Of the index found.
    n
        Number of values.
    confidence
        That the true index lies above.

    Returns
    -------
    float
        Exact for one limit and normal values.  For the smaller of two indices it is safe: the
        confidence is at least the stated one.

    Notes
    -----
    3 sqrt(n) times the index found is a noncentral t with 3 sqrt(n) times the true one.

    References
    ----------
    Kotz, S. and Johnson, N. L. (1993), Process Capability Indices, chapter 2.
    """
    root = 3.0 * math.sqrt(n)
    found = root * value
    reach = 10.0 + 10.0 * abs(found)

    def excess(true: float) -> float:
        # Its upper tail, for SciPy's lower one is NaN where it comes near to 1.
        return float(stats.nct.sf(found, n - 1, true)) - (1.0 - confidence)

    return float(optimize.brentq(excess, found - reach, found + reach, xtol=1e-13)) / root
