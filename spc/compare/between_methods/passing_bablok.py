"""A line between two methods from the median of all pairwise slopes."""

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import special

from spc.capability.intervals import Interval
from spc.compare.between_methods.fitted_line import FittedLine
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

# Twelve million slopes; they grow with the square of the lots.
MOST_LOTS: Final = 5000
# A slope so near to -1 is one, but for the rounding of decimals.
NEAR: Final = 1e-9


def passing_bablok_line(x: Floats, y: Floats, *, confidence: float) -> FittedLine:
    """The line whose slope is the shifted median of all pairwise slopes.

    Parameters
    ----------
    x, y : shape (lots,)
        Values of both methods, in one unit or in logarithms.
    confidence
        Of the intervals.

    Returns
    -------
    FittedLine
        Without standard errors: the intervals come from ranks.  An end is infinite where the lots
        are too few, or too much scattered, to bound it.

    Raises
    ------
    InvalidInput
        If there are more than `MOST_LOTS` lots, or y does not rise with x.

    Notes
    -----
    Neither method need be normal, nor the ratio of their errors known; it takes them to be in the
    ratio of the slope.  Slopes of -1 are left out, and the median moves by the number of those
    below -1, so that exchanging x and y turns the line round and nothing else.  Two lots alike by
    x but not by y have an infinite slope, two lots alike by both none.

    References
    ----------
    Passing, H. and Bablok, W. (1983), Journal of Clinical Chemistry and Clinical Biochemistry 21,
    709-720.
    """
    _refuse_many(x.size)
    slopes = _pairwise_slopes(x, y)
    below = int(np.count_nonzero(slopes < -1.0))
    found = slopes.size
    middle = (_ranked(slopes, (found + 1) // 2 + below), _ranked(slopes, found // 2 + 1 + below))
    slope = 0.5 * (middle[0] + middle[1])
    if not 0.0 < slope < math.inf:
        raise InvalidInput(
            f"the median of {found} pairwise slopes is {slope:g}: y does not rise with x.",
            where="passing-bablok",
            remedy="Compare lots over a wider range, or check which values belong together.",
        )
    spread = math.sqrt(x.size * (x.size - 1) * (2 * x.size + 5) / 18.0)
    reach = float(special.ndtri(0.5 + confidence / 2.0)) * spread
    lowest = round((found - reach) / 2.0)
    ends = Interval(
        # Below the first rank lie the slopes that the shift has moved beyond infinity.
        low=_ranked(slopes, lowest + below if lowest >= 1 else 0),
        high=_ranked(slopes, found - lowest + 1 + below),
    )
    return FittedLine(
        slope=slope,
        intercept=_intercept(x, y, slope),
        slope_interval=ends,
        intercept_interval=Interval(
            low=_intercept(x, y, ends.high), high=_intercept(x, y, ends.low)
        ),
    )


def _pairwise_slopes(x: Floats, y: Floats) -> Floats:
    """Slopes of all pairs of different lots but those of -1, in ascending order."""
    first, second = np.triu_indices(x.size, k=1)
    run, rise = x[second] - x[first], y[second] - y[first]
    different = (run != 0.0) | (rise != 0.0)
    run, rise = run[different], rise[different]
    slopes = np.divide(rise, run, where=run != 0.0, out=np.full(run.size, np.inf))
    return np.sort(slopes[~np.isclose(slopes, -1.0, rtol=NEAR, atol=0.0)])


def _ranked(slopes: Floats, rank: int) -> float:
    """The slope of a rank counted from 1; infinite beyond the last and before the first."""
    if rank < 1:
        return -math.inf
    return float(slopes[rank - 1]) if rank <= slopes.size else math.inf


def _intercept(x: Floats, y: Floats, slope: float) -> float:
    """Median of what is left of y; of an infinite slope, infinite the other way."""
    return -slope if math.isinf(slope) else float(np.median(y - slope * x))


def _refuse_many(lots: int) -> None:
    if lots > MOST_LOTS:
        raise InvalidInput(
            f"{lots} lots have {lots * (lots - 1) // 2} pairwise slopes, too many to sort.",
            where="passing-bablok",
            remedy='Use kind "deming", or the lots of one stratum.',
        )
