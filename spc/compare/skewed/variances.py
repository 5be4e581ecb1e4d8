"""Variances against a stated value, and against each other."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import special, stats

from spc.charts.refusals import refuse_outside, spread_lots
from spc.compare.skewed.groups import checked_groups
from spc.errors import NoSpread


@dataclass(frozen=True, slots=True, kw_only=True)
class VarianceTest:
    """A test of variances.

    Attributes
    ----------
    statistic
        Chi-squared, F, or Bartlett's corrected chi-squared.
    degrees
        Degrees of freedom: one number, or those above and below of an F.
    p_value
        Chance of something as far off, on either side where there are two, if variances are as
        supposed.
    higher_p
        Chance of a larger statistic.
    lower, upper
        Interval of the standard deviation, or of the ratio of the two variances; NaN for more.
    confidence
        Of the interval.
    """

    statistic: float
    degrees: tuple[int, ...]
    p_value: float
    higher_p: float
    lower: float = math.nan
    upper: float = math.nan
    confidence: float = 0.95


def variance_against(
    spread: float, lots: int, *, stated: float, confidence: float = 0.95
) -> VarianceTest:
    """A standard deviation against a stated one, by chi-squared.

    Parameters
    ----------
    spread
        Standard deviation found, zero or more.
    lots
        Of how many values, two or more.
    stated
        Standard deviation supposed, in the same unit, above zero.
    confidence
        Of the interval of the standard deviation.

    Returns
    -------
    VarianceTest

    Raises
    ------
    InvalidInput
        If a number is not possible.

    Notes
    -----
    Normal values; the test is misled by long tails, however many values there are.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, sections 1.3.5.8 and 7.2.3.
    """
    where = "variance against a value"
    refuse_outside(stated, 0.0, math.inf, name="stated spread", where=where)
    refuse_outside(spread, -math.nextafter(0.0, 1.0), math.inf, name="spread", where=where)
    refuse_outside(lots, 1, math.inf, name="number of lots", where=where)
    refuse_outside(confidence, 0.0, 1.0, name="confidence", where=where)
    degrees = lots - 1
    squares = degrees * spread**2
    statistic = squares / stated**2
    above, below = (
        float(special.chdtrc(degrees, statistic)),
        float(special.chdtr(degrees, statistic)),
    )
    tail = (1.0 - confidence) / 2.0
    return VarianceTest(
        statistic=statistic,
        degrees=(degrees,),
        p_value=min(1.0, 2.0 * min(above, below)),
        higher_p=above,
        lower=math.sqrt(squares / float(special.chdtri(degrees, tail))),
        upper=math.sqrt(squares / float(special.chdtri(degrees, 1.0 - tail))),
        confidence=confidence,
    )


def two_variances(
    first: float, first_lots: int, second: float, second_lots: int, *, confidence: float = 0.95
) -> VarianceTest:
    """Two standard deviations against each other, by F.

    Parameters
    ----------
    first, second
        Standard deviations found, in one unit, above zero.
    first_lots, second_lots
        Of how many values, two or more each.
    confidence
        Of the interval of the ratio of variances, first over second.

    Returns
    -------
    VarianceTest

    Raises
    ------
    InvalidInput
        If a number is not possible.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, sections 1.3.5.9 and 7.3.2.
    """
    where = "two variances"
    for name, value, low in (
        ("first spread", first, 0.0),
        ("second spread", second, 0.0),
        ("first number of lots", first_lots, 1.0),
        ("second number of lots", second_lots, 1.0),
    ):
        refuse_outside(value, low, math.inf, name=name, where=where)
    refuse_outside(confidence, 0.0, 1.0, name="confidence", where=where)
    above, below = first_lots - 1, second_lots - 1
    ratio = (first / second) ** 2
    higher, lower = float(stats.f.sf(ratio, above, below)), float(stats.f.cdf(ratio, above, below))
    tail = (1.0 - confidence) / 2.0
    return VarianceTest(
        statistic=ratio,
        degrees=(above, below),
        p_value=min(1.0, 2.0 * min(higher, lower)),
        higher_p=higher,
        lower=ratio / float(stats.f.isf(tail, above, below)),
        upper=ratio / float(stats.f.ppf(tail, above, below)),
        confidence=confidence,
    )


def bartlett(value: ArrayLike, supplier: ArrayLike) -> VarianceTest:
    """Whether several groups have one variance, for normal values.

    Parameters
    ----------
    value, supplier : shape (lots,)
        Finite values, and codes from 0 without gaps; two values or more each.

    Returns
    -------
    VarianceTest
        Misled by long tails; `brown_forsythe` is not.

    Raises
    ------
    InvalidInput
        If groups cannot be compared.
    NoSpread
        If the values of a group are all equal.

    References
    ----------
    Bartlett, M. S. (1937), Proceedings of the Royal Society A 160, 268-282.
    NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.5.7.
    """
    values, code, lots = checked_groups(value, supplier, where="bartlett", fewest=2)
    for group in range(lots.size):
        spread_lots(values[code == group], where="bartlett")
    off = values - (np.bincount(code, values) / lots)[code]
    degrees = lots - 1
    variance = np.bincount(code, off**2) / degrees
    if not np.all(variance > 0.0):
        raise NoSpread(value=float(values[0]), lots=int(lots.min()), where="bartlett")
    total = int(degrees.sum())
    pooled = float(degrees @ variance) / total
    correction = 1.0 + (float((1.0 / degrees).sum()) - 1.0 / total) / (3.0 * (lots.size - 1))
    statistic = (total * math.log(pooled) - float(degrees @ np.log(variance))) / correction
    chance = float(special.chdtrc(lots.size - 1, statistic))
    return VarianceTest(
        statistic=statistic, degrees=(lots.size - 1,), p_value=chance, higher_p=chance
    )
