"""The arithmetic mean of lots that are normal on log scale, beside the geometric one."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

from spc.charts.refusals import finite_lots, refuse_outside
from spc.errors import NotPositive


@dataclass(frozen=True, slots=True, kw_only=True)
class LognormalMean:
    """Two means of one stream; the arithmetic one is what a blend of the lots has.

    Attributes
    ----------
    arithmetic, arithmetic_lower, arithmetic_upper
        exp(mean + variance / 2) of the logarithms, with its interval; unit of the lots.
    geometric, geometric_lower, geometric_upper
        exp(mean) of the logarithms, half of all lots lie below it, with its interval.
    confidence
        Of both intervals.
    lots
        Number of values.
    """

    arithmetic: float
    arithmetic_lower: float
    arithmetic_upper: float
    geometric: float
    geometric_lower: float
    geometric_upper: float
    confidence: float
    lots: int


def lognormal_mean(x: ArrayLike, *, confidence: float = 0.95) -> LognormalMean:
    """Arithmetic and geometric mean of lognormal values, each with its interval.

    Parameters
    ----------
    x : shape (lots,)
        Positive values, any unit.
    confidence
        Of the intervals.

    Returns
    -------
    LognormalMean

    Raises
    ------
    TooFewLots
        If fewer than two values are given.
    NotPositive
        If a value is zero or negative.
    InvalidInput
        If a value is not finite, or `confidence` not between 0 and 1.

    Notes
    -----
    Cox's interval with Student's t, as Olsson found to hold its confidence from five values on
    for moderate skewness: on log scale mean + s² / 2 with standard error
    sqrt(s² / n + s⁴ / (2 (n - 1))).

    References
    ----------
    Olsson, U. (2005), Journal of Statistics Education 13(1).
    Zhou, X.-H. and Gao, S. (1997), Statistics in Medicine 16, 783-790.
    """
    where = "lognormal mean"
    values = finite_lots(x, where=where)
    refuse_outside(confidence, 0.0, 1.0, name="confidence", where=where)
    refused = np.flatnonzero(values <= 0.0)
    if refused.size:
        position = int(refused[0])
        raise NotPositive(value=float(values[position]), position=position, where=where)
    logs, size = np.log(values), values.size
    mean, variance = float(logs.mean()), float(logs.var(ddof=1))
    t = float(stats.t.isf((1.0 - confidence) / 2.0, size - 1))
    center = mean + variance / 2.0
    wide = t * math.sqrt(variance / size + variance**2 / (2.0 * (size - 1)))
    half = t * math.sqrt(variance / size)
    return LognormalMean(
        arithmetic=math.exp(center),
        arithmetic_lower=math.exp(center - wide),
        arithmetic_upper=math.exp(center + wide),
        geometric=math.exp(mean),
        geometric_lower=math.exp(mean - half),
        geometric_upper=math.exp(mean + half),
        confidence=confidence,
        lots=size,
    )
