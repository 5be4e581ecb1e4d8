"""Every stream of the store in one pass: limits, scores and signals."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.charts.constants import d2
from spc.charts.limits import FEWEST_LOTS, MOVING_RANGE_SPAN, on_log_scale
from spc.charts.lots import ABOVE, BELOW, EXACT
from spc.charts.refusals import ROUNDING
from spc.charts.rules.patterns import TIE
from spc.charts.rules.rules import DEFAULT_RULES, checked_starts, run_rules
from spc.errors import InvalidInput

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]
ScalarT = TypeVar("ScalarT", bound=np.generic)


class Reason(IntEnum):
    """Why a stream has no limits, if it has none."""

    HAS_LIMITS = 0
    TOO_FEW_LOTS = 1
    NO_SPREAD = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sweep:
    """Limits of many streams, and the signals of their lots.

    Attributes
    ----------
    center, sigma : shape (streams,)
        Centre and standard deviation on the stream's scale: in its unit, or natural
        logarithms.  NaN without limits.
    lower, upper : shape (streams,)
        Control limits in the stream's unit.  NaN without limits.
    size : shape (streams,)
        Number of lots the limits rest on.
    reason : shape (streams,)
        A `Reason`.
    z : shape (points,)
        Distance from the centre line in sigmas; NaN where the lot is not judged.
    signals : shape (points, rules)
        True at the last lot of a pattern.
    rules
        Names of the run rules, in the order of the columns of `signals`.
    usable : shape (points,)
        Whether the lot has an exact value.
    """

    center: Floats
    sigma: Floats
    lower: Floats
    upper: Floats
    size: Integers
    reason: NDArray[np.int8]
    z: Floats
    signals: Flags
    rules: tuple[str, ...]
    usable: Flags


def sweep(  # noqa: PLR0913 - four columns of one table, then the two choices of a chart
    value: ArrayLike,
    *,
    starts: ArrayLike,
    scale_log: ArrayLike,
    censored: ArrayLike,
    baseline: ArrayLike,
    rules: Sequence[str] = DEFAULT_RULES,
    width: float = 3.0,
) -> Sweep:
    """Limits and signals of every stream at once.

    Parameters
    ----------
    value : shape (points,)
        Lot values, stream after stream, each in order of receipt, each stream in one
        unit; NaN for a lot without a value.
    starts : shape (streams,)
        Index of each stream's first lot.
    scale_log : shape (streams,)
        Whether the stream is charted in logarithms.
    censored : shape (points,)
        0 exact, 1 the truth lies above `value`, -1 below, 2 both.
    baseline : shape (points,)
        Whether the stream's limits rest on this lot, if it has an exact value.
    rules
        Names out of `charts.RULES`.
    width
        Distance from centre line to limit, in sigmas.

    Returns
    -------
    Sweep

    Raises
    ------
    InvalidInput
        If shapes do not agree, `starts` does not begin with 0 and rise, a value is
        infinite, a rule is unknown, or `width` is not positive.
    NotPositive
        If a value on log scale is zero or negative.

    Notes
    -----
    The same limits and signals as `charts.individuals` and `charts.run_rules` give stream
    by stream.  A censored lot is a gap, unless its bound already lies beyond the limit on
    the side where the truth lies: then its score is that of the bound, which can only
    understate.

    References
    ----------
    ISO 7870-2, control charts for individual values and moving ranges.
    """
    values = _column(value, np.float64, "value")
    _refuse_infinite(values)
    first = checked_starts(starts, values.size, where="sweep")
    stream = np.repeat(np.arange(first.size), np.diff(first, append=values.size))
    logs = _column(scale_log, np.bool_, "scale_log", size=first.size)
    side = _column(censored, np.int8, "censored", size=values.size)
    usable = (side == EXACT) & ~np.isnan(values)
    in_baseline = usable & _column(baseline, np.bool_, "baseline", size=values.size)
    worked = _on_scale(values, logs[stream])
    center, sigma, size, reason = _estimates(worked[in_baseline], stream[in_baseline], first.size)
    z = (worked - center[stream]) / sigma[stream]
    z[~_judged(z, side, width)] = np.nan
    return Sweep(
        center=center,
        sigma=sigma,
        lower=_in_unit(center - width * sigma, logs),
        upper=_in_unit(center + width * sigma, logs),
        size=size,
        reason=reason,
        z=z,
        signals=run_rules(z, rules=rules, starts=first, width=width),
        rules=tuple(rules),
        usable=usable,
    )


def _estimates(
    worked: Floats, stream: Integers, streams: int
) -> tuple[Floats, Floats, Integers, NDArray[np.int8]]:
    """Centre, sigma, size and reason of each stream, from its baseline lots."""
    size = np.bincount(stream, minlength=streams)
    neighbours = stream[1:] == stream[:-1]
    ranges = np.abs(np.diff(worked))[neighbours]
    total_range = np.bincount(stream[1:][neighbours], weights=ranges, minlength=streams)
    enough = size >= FEWEST_LOTS
    mean_range = total_range / np.where(enough, size - 1, 1)
    peak = np.zeros(streams)
    np.maximum.at(peak, stream, np.abs(worked))
    flat = mean_range <= ROUNDING * peak
    reason = np.select(
        [~enough, flat], [Reason.TOO_FEW_LOTS, Reason.NO_SPREAD], default=Reason.HAS_LIMITS
    ).astype(np.int8)
    missing = reason != Reason.HAS_LIMITS
    center = np.bincount(stream, weights=worked, minlength=streams) / np.maximum(size, 1)
    sigma = mean_range / d2(MOVING_RANGE_SPAN)
    return np.where(missing, np.nan, center), np.where(missing, np.nan, sigma), size, reason


def _judged(z: Floats, side: NDArray[np.int8], width: float) -> Flags:
    beyond_above = (side == ABOVE) & (z > width + TIE)
    beyond_below = (side == BELOW) & (z < -width - TIE)
    return np.asarray((side == EXACT) | beyond_above | beyond_below, dtype=np.bool_)


def _on_scale(values: Floats, logs: Flags) -> Floats:
    return np.where(logs, on_log_scale(np.where(logs, values, 1.0)), values)


def _in_unit(limits: Floats, logs: Flags) -> Floats:
    shown = limits.copy()
    shown[logs] = np.exp(limits[logs])
    return shown


def _column(
    x: ArrayLike, kind: type[ScalarT], name: str, *, size: int | None = None
) -> NDArray[ScalarT]:
    column = np.asarray(x, dtype=kind)
    if column.ndim != 1 or size not in (None, column.size):
        raise InvalidInput(
            f"{name} has shape {column.shape}, not ({'points' if size is None else size},).",
            where="sweep",
            remedy="Give one entry per lot, and scale_log one per stream.",
        )
    return column


def _refuse_infinite(values: Floats) -> None:
    refused = np.flatnonzero(np.isinf(values))
    if refused.size:
        raise InvalidInput(
            f"value at position {refused[0]} is infinite.",
            where="sweep",
            remedy="Give the finite bound and mark the lot as censored.",
        )
