"""Percentiles of lots as they are, with intervals that suppose no shape."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from spc.charts.refusals import finite_lots, refuse_outside


@dataclass(frozen=True, slots=True, kw_only=True)
class EmpiricalPercentile:
    """A percentile of a stream, whatever its shape.

    Attributes
    ----------
    value
        The percentile, between neighbouring lots by their distance.
    lower, upper
        Lots between which the stream's percentile lies; infinite where no lot is far enough out
        for the confidence.
    coverage
        Chance that they hold it: at least `confidence`.
    confidence
        That was asked for.
    lots
        Number of values.
    """

    value: float
    lower: float
    upper: float
    coverage: float
    confidence: float
    lots: int


def empirical_percentile(
    x: ArrayLike, share: float, *, confidence: float = 0.95
) -> EmpiricalPercentile:
    """The value below which a stated share of lots lies, with an interval of order statistics.

    Parameters
    ----------
    x : shape (lots,)
        Finite values, any unit.
    share
        Between 0 and 1; 0.9 for the 90th percentile.
    confidence
        Of the interval, at least; half of what is left on either side.

    Returns
    -------
    EmpiricalPercentile

    Raises
    ------
    TooFewLots
        If fewer than two values are given.
    InvalidInput
        If a value is not finite, or `share` or `confidence` not between 0 and 1.

    Notes
    -----
    The value lies at place share (n + 1) among the ordered lots.  The interval is exact for a
    continuous distribution and cautious for one with ties.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, section 7.2.6.2 (the value).
    Hahn, G. J. and Meeker, W. Q. (1991), Statistical Intervals, section 5.2 (the interval).
    """
    where = "empirical percentile"
    lots = np.sort(finite_lots(x, where=where))
    refuse_outside(share, 0.0, 1.0, name="share", where=where)
    refuse_outside(confidence, 0.0, 1.0, name="confidence", where=where)
    size = lots.size
    place = min(max(share * (size + 1), 1.0), float(size))
    whole = min(math.floor(place), size - 1)
    value = lots[whole - 1] + (place - whole) * (lots[whole] - lots[whole - 1])
    tail = (1.0 - confidence) / 2.0
    # Chance that at most k lots lie below the percentile, k = 0 .. n.
    below = special.bdtr(np.arange(size + 1, dtype=np.float64), size, share)
    # Place r: P(fewer than r below) is at most the tail; place s: P(s or more below) is.
    low = int(np.searchsorted(below, tail, side="right"))
    high = int(np.searchsorted(below, 1.0 - tail, side="left")) + 1
    chance_low = float(below[low - 1]) if low >= 1 else 0.0
    chance_high = float(below[high - 1]) if high <= size else 1.0
    return EmpiricalPercentile(
        value=float(value),
        lower=float(lots[low - 1]) if low >= 1 else -math.inf,
        upper=float(lots[high - 1]) if high <= size else math.inf,
        coverage=chance_high - chance_low,
        confidence=confidence,
        lots=size,
    )
