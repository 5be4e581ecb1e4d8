"""The patterns behind the run rules, each found in one pass over many streams.

Flags of all streams lie end to end; looking back never crosses the first point of a stream,
and a gap (NaN) is never flagged.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

Flags = NDArray[np.bool_]

# A point this close to a line, in sigmas, lies on it: neither beyond it nor short of it.
# Without it the last bit of a mean decides whether a rounded reading signals.
TIE: Final = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """Standardised points of many streams.

    Attributes
    ----------
    z : shape (points,)
        Distance from the centre line in sigmas; NaN is a gap.
    starts : shape (streams,)
        Index of each stream's first point.
    width
        Distance from centre line to limit, in sigmas.
    """

    z: NDArray[np.float64]
    starts: NDArray[np.int64]
    width: float


def _earlier(flags: Flags, by: int, starts: NDArray[np.int64]) -> Flags:
    """The flag of the point `by` places earlier in the same stream; False if there is none."""
    shifted = np.zeros_like(flags)
    shifted[by:] = flags[: max(flags.size - by, 0)]
    for offset in range(by):
        first = starts + offset
        shifted[first[first < flags.size]] = False
    return shifted


def _in_a_row(flags: Flags, length: int, starts: NDArray[np.int64]) -> Flags:
    """Whether this point and the `length` - 1 before it are all flagged."""
    run, reached = flags, 1
    while reached < length:
        step = min(reached, length - reached)
        run = run & _earlier(run, step, starts)
        reached += step
    return run


def _either_side(points: Points, one_side: Callable[[NDArray[np.float64]], Flags]) -> Flags:
    return one_side(points.z) | one_side(-points.z)


def _beyond_limits(points: Points, _span: int) -> Flags:
    return np.abs(points.z) > points.width + TIE


def _most_of(points: Points, span: int, *, need: int, line: float) -> Flags:
    gap = np.isnan(points.z)
    gapped = gap.copy()
    for by in range(1, span):
        gapped |= _earlier(gap, by, points.starts)

    def one_side(z: NDArray[np.float64]) -> Flags:
        out = z > line + TIE
        count = out.astype(np.uint8)
        for by in range(1, span):
            count += _earlier(out, by, points.starts)
        return out & (count >= need) & ~gapped

    return _either_side(points, one_side)


def _on_one_side(points: Points, span: int) -> Flags:
    return _either_side(points, lambda z: _in_a_row(z > TIE, span, points.starts))


def _rise(points: Points, z: NDArray[np.float64]) -> Flags:
    """Whether each point lies above the one before it in its stream."""
    rise = np.zeros(z.size, dtype=np.bool_)
    rise[1:] = np.diff(z) > TIE
    rise[points.starts] = False
    return rise


def _one_way(points: Points, span: int) -> Flags:
    return _either_side(points, lambda z: _in_a_row(_rise(points, z), span - 1, points.starts))


def _alternating(points: Points, span: int) -> Flags:
    up, down = _rise(points, points.z), _rise(points, -points.z)
    peak = down & _earlier(up, 1, points.starts)
    dip = up & _earlier(down, 1, points.starts)
    return _in_a_row(peak | dip, span - 2, points.starts)


def _near_centre(points: Points, span: int) -> Flags:
    return _in_a_row(np.abs(points.z) < 1.0 - TIE, span, points.starts)


def _far_from_centre(points: Points, span: int) -> Flags:
    out = _in_a_row(np.abs(points.z) > 1.0 + TIE, span, points.starts)
    return out & ~_on_one_side(points, span)


PATTERNS: Final[Mapping[str, Callable[[Points, int], Flags]]] = MappingProxyType(
    {
        "beyond limits": _beyond_limits,
        "two of three far out": partial(_most_of, need=2, line=2.0),
        "four of five out": partial(_most_of, need=4, line=1.0),
        "eight on one side": _on_one_side,
        "nine on one side": _on_one_side,
        "six rising or falling": _one_way,
        "fourteen alternating": _alternating,
        "fifteen hugging the centre": _near_centre,
        "eight avoiding the centre": _far_from_centre,
    }
)
