"""Whether lots scatter about a line alike along its whole length."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Linearity:
    """The largest cumulative sum of lots above and below a line.

    Attributes
    ----------
    statistic
        Largest sum, either sign, of the lots in order along the line: each above it counts
        sqrt(below / above), each below it -sqrt(above / below).
    p_value
        Chance of a larger one where the line is straight.
    above, below
        Number of lots on either side; lots on the line count nothing.
    """

    statistic: float
    p_value: float
    above: int
    below: int


def linearity(x: Floats, y: Floats, *, slope: float, intercept: float) -> Linearity:
    """Test whether the relation of two methods bends away from a line.

    Parameters
    ----------
    x, y : shape (lots,)
        Values of both methods.
    slope, intercept
        Of the line fitted to them.

    Returns
    -------
    Linearity
        With a p-value of 1 where no lot lies above, or none below.

    Notes
    -----
    Over the root of the number of lots off the line, the largest sum has the distribution of
    Kolmogorov and Smirnov; 1.36 is exceeded one time in twenty.  A fitted line follows its lots,
    so the test is shy rather than rash: of straight relations fewer than one in a hundred fail
    at 5 %.

    References
    ----------
    Passing, H. and Bablok, W. (1983), Journal of Clinical Chemistry and Clinical Biochemistry 21,
    709-720: the test of linearity.
    """
    off = y - intercept - slope * x
    # Rounding puts lots of a perfect line on either side of it.
    off = np.where(np.abs(off) <= 1e-12 * np.abs(y).max(), 0.0, off)
    above, below = int(np.count_nonzero(off > 0.0)), int(np.count_nonzero(off < 0.0))
    if min(above, below) == 0:
        return Linearity(statistic=0.0, p_value=1.0, above=above, below=below)
    score = np.select([off > 0.0, off < 0.0], [math.sqrt(below / above), -math.sqrt(above / below)])
    order = np.argsort(x + slope * y, kind="stable")
    statistic = float(np.abs(np.cumsum(score[order])).max())
    return Linearity(
        statistic=statistic,
        p_value=float(special.kolmogorov(statistic / math.sqrt(above + below))),
        above=above,
        below=below,
    )
