"""One value per lot, from the readings of its samples."""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.charts.limits import on_log_scale
from spc.charts.rules.rules import checked_starts
from spc.errors import InvalidInput

Scale = Literal["linear", "log"]
Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

# An interval up to this share of its midpoint is the rounding of a number, not a bound.
# Rule of thumb: [0.498, 0.502] is 0.5, [0.45, 0.55] is not.
WIDEST_EXACT: Final = 0.02

EXACT: Final = 0
ABOVE: Final = 1
BELOW: Final = -1
BOTH: Final = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LotValues:
    """One value per lot, and what it rests on.

    Attributes
    ----------
    value : shape (lots,)
        Mean over samples of the mean over replicates, in the unit of the readings; on log
        scale the geometric mean.  Of a censored lot: the same with each bound taken as
        if it were the reading.
    spread : shape (lots,)
        Standard deviation between sample means: in the unit of the readings, on log scale
        of their natural logarithms.  NaN with fewer than two samples, and for a censored
        lot, whose bounds may be equal where the samples are not.
    samples, readings : shape (lots,)
        How many the value rests on.
    censored : shape (lots,)
        0 exact, 1 the truth lies above `value`, -1 below, 2 bounded on both sides or
        holding bounds of both kinds.
    """

    value: Floats
    spread: Floats
    samples: Integers
    readings: Integers
    censored: NDArray[np.int8]


def lot_values(
    low: ArrayLike, high: ArrayLike, sample: ArrayLike, starts: ArrayLike, *, scale: Scale
) -> LotValues:
    """Mean, between-sample spread and censoring of each lot.

    Parameters
    ----------
    low, high : shape (readings,)
        Bounds of each reading, lot after lot, in one unit: equal when exact, `high`
        infinite above the range, `low` zero (or minus infinity) below quantification.
    sample : shape (readings,)
        Integer code of the sample within its lot; the replicates of a sample are
        neighbours.
    starts : shape (lots,)
        Index of each lot's first reading.
    scale
        Whether means are taken of the readings or of their logarithms.

    Returns
    -------
    LotValues
        In the unit of the readings.

    Raises
    ------
    InvalidInput
        If shapes differ, `starts` does not begin with 0 and rise, a bound is missing,
        reversed or open at both ends, a sample's replicates are not neighbours, or `scale`
        is unknown; positions count from 0.
    NotPositive
        If a reading on log scale is zero or negative.

    Notes
    -----
    Samples weigh alike, however many replicates each has: replicates repeat the test,
    samples repeat the lot.  An interval wider than 2 % of its midpoint is a bound.

    References
    ----------
    ISO 5725-1, repeatability conditions.
    Limpert, E., Stahel, W. A. and Abbt, M. (2001), BioScience 51, 341-352.
    """
    if scale not in ("linear", "log"):
        raise _refused(f"scale {scale!r} is not known.", 'Use "linear" or "log".')
    bounds = _bounds(low, high)
    size = bounds[0].size
    codes = np.asarray(sample)
    if codes.shape != (size,):
        raise _refused("sample and readings differ in length.", "Give each reading its sample.")
    first_reading = checked_starts(starts, size, where="lot_values")
    first_replicate = _first_replicates(codes, first_reading)
    reading, side = _readings(*bounds)
    worked = on_log_scale(reading) if scale == "log" else reading
    value, spread, samples = _means(worked, first_replicate, first_reading)
    censored = _censoring(side, first_reading)
    return LotValues(
        value=np.exp(value) if scale == "log" else value,
        spread=np.where(censored == EXACT, spread, np.nan),
        samples=samples,
        readings=_lengths(first_reading, size),
        censored=censored,
    )


def _bounds(low: ArrayLike, high: ArrayLike) -> tuple[Floats, Floats]:
    lower, upper = np.asarray(low, dtype=np.float64), np.asarray(high, dtype=np.float64)
    if lower.ndim != 1 or lower.shape != upper.shape:
        raise _refused("low and high differ in length.", "Give each reading two bounds.")
    nothing_said = ((lower == 0.0) | np.isneginf(lower)) & np.isposinf(upper)
    impossible = np.isposinf(lower) | np.isneginf(upper) | ~(lower <= upper)
    refused = np.flatnonzero(nothing_said | impossible)
    if refused.size:
        at = refused[0]
        raise _refused(
            f"reading {at} from {lower[at]:g} to {upper[at]:g} bounds nothing.",
            "Leave it out, or correct its bounds.",
        )
    return lower, upper


def _readings(low: Floats, high: Floats) -> tuple[Floats, NDArray[np.int8]]:
    """Each reading or its bound, and the side on which the truth lies."""
    closed = np.isfinite(low) & np.isfinite(high)
    wide = np.subtract(high, low, where=closed, out=np.full(low.size, np.inf))
    middle = np.add(low, wide / 2.0, where=closed, out=np.zeros(low.size))
    bound = wide > WIDEST_EXACT * np.abs(middle)
    above = np.isposinf(high)
    below = bound & ~above & ((low == 0.0) | np.isneginf(low))
    reading = np.where(above, low, np.where(below, high, middle))
    side = np.select([above, below, bound], [ABOVE, BELOW, BOTH], default=EXACT)
    return reading, side.astype(np.int8)


def _censoring(side: NDArray[np.int8], starts: Integers) -> NDArray[np.int8]:
    above = _any((side == ABOVE) | (side == BOTH), starts)
    below = _any((side == BELOW) | (side == BOTH), starts)
    codes = np.select([above & below, above, below], [BOTH, ABOVE, BELOW], default=EXACT)
    return codes.astype(np.int8)


def _means(
    reading: Floats, first_replicate: Integers, first_reading: Integers
) -> tuple[Floats, Floats, Integers]:
    """Mean of the sample means of each lot, their standard deviation, and their number."""
    sample_mean = _sums(reading, first_replicate) / _lengths(first_replicate, reading.size)
    first_sample = np.searchsorted(first_replicate, first_reading)
    samples = _lengths(first_sample, sample_mean.size)
    value = _sums(sample_mean, first_sample) / samples
    squares = _sums((sample_mean - np.repeat(value, samples)) ** 2, first_sample)
    freedom = np.where(samples > 1, samples - 1, np.nan)
    return value, np.sqrt(squares / freedom), samples


def _first_replicates(codes: NDArray[np.generic], first_reading: Integers) -> Integers:
    """Index of each sample's first reading."""
    begins = np.ones(codes.size, dtype=np.bool_)
    begins[1:] = codes[1:] != codes[:-1]
    begins[first_reading] = True
    first = np.flatnonzero(begins)
    lot = np.searchsorted(first_reading, first, side="right")
    order = np.lexsort((codes[first], lot))
    lot, code = lot[order], codes[first][order]
    split = np.flatnonzero((lot[1:] == lot[:-1]) & (code[1:] == code[:-1]))
    if split.size:
        raise _refused(
            f"sample {code[split[0]]} of lot {lot[split[0]] - 1} comes in parts.",
            "Sort readings by lot and sample.",
        )
    return first


def _sums(x: Floats, starts: Integers) -> Floats:
    return np.add.reduceat(x, starts) if starts.size else np.zeros(0)


def _any(flags: NDArray[np.bool_], starts: Integers) -> NDArray[np.bool_]:
    return np.logical_or.reduceat(flags, starts) if starts.size else flags


def _lengths(starts: Integers, size: int) -> Integers:
    return np.diff(starts, append=size) if starts.size else np.zeros(0, dtype=np.int64)


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="lot_values", remedy=remedy)
