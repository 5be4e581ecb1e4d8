"""A line between two methods that both have errors, in a known ratio of their variances."""

import math
from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.compare.between_methods.fitted_line import FittedLine, jackknifed
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

# Weights and line settle in a dozen steps where there is a line at all.
MOST_STEPS: Final = 200
SETTLED: Final = 1e-11
# A correlation so small is rounding.
UNRELATED: Final = 1e-12
# Of the lines that leave out one lot, so many values are worked on at a time.
AT_A_TIME: Final = 1_000_000


def error_ratio(
    reference: float, routine: float, *, reference_readings: int = 1, routine_readings: int = 1
) -> float:
    """Ratio of the error variances of two methods, from their repeatability.

    Parameters
    ----------
    reference, routine
        Standard deviation of repeated readings of one sample by the method of x and of y, both in
        the unit of the comparison, or both as shares.
    reference_readings, routine_readings
        How many readings each compared value is the mean of.

    Returns
    -------
    float
        Variance of the error of y over that of x.

    Raises
    ------
    InvalidInput
        If a standard deviation is not positive and finite, or a number of readings below one.

    Notes
    -----
    Repeatability leaves out what each method reads otherwise in every lot, so the ratio is the
    better the more of the scatter it explains.
    """
    if min(reference_readings, routine_readings) < 1:
        raise InvalidInput(
            "a value that is the mean of no reading has no error.",
            where="error ratio",
            remedy="Give one reading or more.",
        )
    variances = reference**2 / reference_readings, routine**2 / routine_readings
    if not all(0.0 < variance < math.inf for variance in variances):
        raise InvalidInput(
            f"repeatabilities {reference:g} and {routine:g} have no ratio.",
            where="error ratio",
            remedy="Give two standard deviations above zero.",
        )
    return variances[1] / variances[0]


def deming_line(x: Floats, y: Floats, *, variance_ratio: float, confidence: float) -> FittedLine:
    """The line of largest likelihood where both methods scatter alike all along it.

    Parameters
    ----------
    x, y : shape (lots,)
        Values of both methods, in one unit or in logarithms.
    variance_ratio
        Variance of the error of y over that of x.
    confidence
        Of the intervals.

    Returns
    -------
    FittedLine
        Standard errors by the jackknife.

    Raises
    ------
    InvalidInput
        If y neither rises nor falls with x.

    Notes
    -----
    A very large ratio gives the regression of y on x, a very small one that of x on y turned
    round, 1 the line of least squared distances.

    References
    ----------
    Deming, W. E. (1943), Statistical Adjustment of Data.
    Linnet, K. (1993), Clinical Chemistry 39, 424-432 (the jackknife).
    """
    lots = x.size
    off_x, off_y = x - x.mean(), y - y.mean()
    xx, xy, yy = np.array([off_x @ off_x, off_x @ off_y, off_y @ off_y])[:, None]
    _refuse_unrelated(xx, xy, yy)
    slope = float(_slope(xx, xy, yy, variance_ratio)[0])
    # Leaving out one lot takes its square from the sums, enlarged for the mean that moves with it.
    enlarged = lots / (lots - 1)
    slopes = _slope(
        xx - enlarged * off_x**2,
        xy - enlarged * off_x * off_y,
        yy - enlarged * off_y**2,
        variance_ratio,
    )
    intercepts = (lots * y.mean() - y - slopes * (lots * x.mean() - x)) / (lots - 1)
    intercept = float(y.mean() - slope * x.mean())
    return jackknifed(slope, intercept, (slopes, intercepts), confidence=confidence)


def weighted_deming_line(
    x: Floats, y: Floats, *, variance_ratio: float, confidence: float
) -> FittedLine:
    """The same where the errors of both methods are a constant share of the level.

    Parameters
    ----------
    x, y : shape (lots,)
        Positive values of both methods, in one unit.
    variance_ratio
        Variance of the error of y over that of x, the same at every level.
    confidence
        Of the intervals.

    Returns
    -------
    FittedLine
        Standard errors by the jackknife.

    Raises
    ------
    InvalidInput
        If y neither rises nor falls with x, or line and weights do not settle.

    Notes
    -----
    Each lot weighs by the reciprocal square of its level, which is the mean of its two estimated
    true values, and these follow from the line; line and weights are worked out in turn.  No lot
    weighs more than one at half the smallest value would.  Time grows with the square of the lots:
    a second for two thousand.

    References
    ----------
    Linnet, K. (1990), Statistics in Medicine 9, 1463-1473 (weights; formula from memory).
    """
    everything = np.ones((1, x.size))
    slope, intercept = _settled(x, y, everything, everything, variance_ratio)
    # One lot more or less hardly moves the line: the others begin where it ended.
    level = levels(x, y, slope[:, None], intercept[:, None], variance_ratio)
    blocks = [_settled(x, y, kept, level, variance_ratio) for kept in _one_left_out(x.size)]
    slopes, intercepts = (np.concatenate(part) for part in zip(*blocks, strict=True))
    return jackknifed(
        float(slope[0]), float(intercept[0]), (slopes, intercepts), confidence=confidence
    )


def levels(x: Floats, y: Floats, slope: Floats, intercept: Floats, variance_ratio: float) -> Floats:
    """The level of each lot: the mean of its two estimated true values, weighted by precision.

    Parameters
    ----------
    x, y : shape (lots,)
        Values of both methods.
    slope, intercept : shape (lines, 1)
        Of the line or lines that the true values lie on.
    variance_ratio
        Variance of the error of y over that of x.

    Returns
    -------
    array of shape (lines, lots)
    """
    off = y - intercept - slope * x
    true_x = x + slope * off / (variance_ratio + slope**2)
    true_y = intercept + slope * true_x
    level = (variance_ratio * true_x + true_y) / (variance_ratio + 1.0)
    return np.asarray(np.maximum(level, 0.5 * min(x.min(), y.min())), dtype=np.float64)


def _slope(xx: Floats, xy: Floats, yy: Floats, variance_ratio: float) -> Floats:
    """Slope from sums of squares and products about the means."""
    gap = yy - variance_ratio * xx
    root = np.hypot(gap, 2.0 * math.sqrt(variance_ratio) * xy)
    # Two forms of one root: each keeps its digits where the other loses them.
    with np.errstate(divide="ignore", invalid="ignore"):
        steep, flat = (root + gap) / (2.0 * xy), 2.0 * variance_ratio * xy / (root - gap)
    return np.asarray(np.where(gap > 0.0, steep, flat), dtype=np.float64)


def _settled(
    x: Floats, y: Floats, kept: Floats, level: Floats, variance_ratio: float
) -> tuple[Floats, Floats]:
    """Slope and intercept of each row of lots, once line and weights agree."""
    before: Floats | float = np.inf
    for _ in range(MOST_STEPS):
        slope, intercept = _weighted(x, y, kept / level**2, variance_ratio)
        if np.all(np.abs(slope - before) <= SETTLED * np.abs(slope)):
            return slope, intercept
        before = slope
        level = levels(x, y, slope[:, None], intercept[:, None], variance_ratio)
    raise InvalidInput(
        f"line and weights do not settle in {MOST_STEPS} steps.",
        where="weighted deming",
        remedy='Compare on log scale, or with kind "deming".',
    )


def _weighted(
    x: Floats, y: Floats, weights: Floats, variance_ratio: float
) -> tuple[Floats, Floats]:
    share = weights / weights.sum(axis=1, keepdims=True)
    mean_x, mean_y = share @ x, share @ y
    off_x, off_y = x - mean_x[:, None], y - mean_y[:, None]
    xx, xy, yy = ((share * product).sum(axis=1) for product in (off_x**2, off_x * off_y, off_y**2))
    _refuse_unrelated(xx, xy, yy)
    slope = _slope(xx, xy, yy, variance_ratio)
    return slope, mean_y - slope * mean_x


def _one_left_out(lots: int) -> Iterator[Floats]:
    """Rows of ones with a zero at each lot in turn, some rows at a time."""
    rows = max(1, AT_A_TIME // lots)
    for first in range(0, lots, rows):
        left_out = np.arange(first, min(first + rows, lots))
        yield (left_out[:, None] != np.arange(lots)).astype(np.float64)


def _refuse_unrelated(xx: Floats, xy: Floats, yy: Floats) -> None:
    if np.any(np.abs(xy) <= UNRELATED * np.sqrt(xx * yy)):
        raise InvalidInput(
            "one method neither rises nor falls with the other, so no line joins them.",
            where="methods",
            remedy="Compare lots over a wider range, or check which values belong together.",
        )
