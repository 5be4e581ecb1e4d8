"""The patterns behind the run rules, each found in one pass over many streams.

Flags of all streams lie end to end; looking back never crosses the first point of a stream,
and a gap (NaN) is never flagged.
"""

from collections.abc import Callable, Iterator, Mapping
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

    def parts(self, largest: int) -> Iterator[tuple["Points", int]]:
        """Whole streams of together about `largest` points, each part with its first index."""
        size = self.z.size
        cuts = np.searchsorted(self.starts, np.arange(0, size, largest))
        first = np.unique(self.starts[cuts[cuts < self.starts.size]])
        ends = np.append(first[1:], size)[: first.size]
        for begin, end in zip(first, ends, strict=True):
            low, high = np.searchsorted(self.starts, (begin, end))
            yield Points(self.z[begin:end], self.starts[low:high] - begin, self.width), int(begin)


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


def _beyond(x: NDArray[np.float64], line: float, side: int) -> Flags:
    """Whether each value lies further out than the line, above (1) or below (-1)."""
    return x > line + TIE if side > 0 else x < -line - TIE


def _either_side(one_side: Callable[[int], Flags]) -> Flags:
    return one_side(1) | one_side(-1)


def _beyond_limits(points: Points, _span: int) -> Flags:
    return np.abs(points.z) > points.width + TIE


def _most_of(points: Points, span: int, *, need: int, line: float) -> Flags:
    gap = np.isnan(points.z)
    gapped = gap.copy()
    for by in range(1, span):
        gapped |= _earlier(gap, by, points.starts)

    def one_side(side: int) -> Flags:
        out = _beyond(points.z, line, side)
        count = out.astype(np.uint8)
        for by in range(1, span):
            count += _earlier(out, by, points.starts)
        return out & (count >= need) & ~gapped

    return _either_side(one_side)


def _on_one_side(points: Points, span: int) -> Flags:
    return _either_side(lambda side: _in_a_row(_beyond(points.z, 0.0, side), span, points.starts))


def _steps(points: Points, side: int) -> Flags:
    """Whether each point lies above (1) or below (-1) the one before it in its stream."""
    steps = np.zeros(points.z.size, dtype=np.bool_)
    steps[1:] = _beyond(np.diff(points.z), 0.0, side)
    steps[points.starts] = False
    return steps


def _one_way(points: Points, span: int) -> Flags:
    return _either_side(lambda side: _in_a_row(_steps(points, side), span - 1, points.starts))


def _alternating(points: Points, span: int) -> Flags:
    up, down = _steps(points, 1), _steps(points, -1)
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
