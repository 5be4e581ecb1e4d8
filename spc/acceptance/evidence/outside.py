"""Which values lie outside the limits of a line, and by more than their uncertainty."""

import math
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.acceptance.specification import Line, Scale

Floats = NDArray[np.float64]

# Expanded uncertainty: k = 2, about 95 % of a normal distribution.
COVERAGE: Final = 2.0
# A mean that equals its limit must not be pushed over it by a logarithm's last digits.
_ROUNDING: Final = 1e-9
_LARGEST_LOGARITHM: Final = 700.0


def outside(
    line: Line, low: ArrayLike, high: ArrayLike, *, margin: ArrayLike = 0.0
) -> NDArray[np.bool_]:
    """Whether all of an interval lies beyond a limit by more than a margin.

    Parameters
    ----------
    line
        With its limits; a value on a limit is not outside.
    low, high : any shape
        Ends of each interval, in the unit of the line.
    margin
        On the scale of the line: in its unit, or a share where it is judged in logarithms.

    Returns
    -------
    bool array

    Notes
    -----
    In logarithms a value is lowered by a share of itself, as a laboratory states its expanded
    uncertainty, and raised by a factor; each is the one that speaks for the supplier.

    References
    ----------
    JCGM 106:2012, 8.3.3: guarded rejection.
    """
    lower, upper = _bounds(line)
    below = _raised(high, margin, line.scale) < lower
    above = _lowered(low, margin, line.scale) > upper
    return np.asarray(below | above, dtype=np.bool_)


def inside(
    line: Line, low: ArrayLike, high: ArrayLike, *, margin: ArrayLike = 0.0
) -> NDArray[np.bool_]:
    """Whether no part of an interval lies beyond a limit by more than a margin.

    Parameters
    ----------
    line
        With its limits; a value on a limit is inside.
    low, high : any shape
        Ends of each interval, in the unit of the line.
    margin
        As of `outside`.

    Returns
    -------
    bool array

    References
    ----------
    JCGM 106:2012, 8.2: simple acceptance, where the margin is zero.
    """
    lower, upper = _bounds(line)
    reached = _raised(low, margin, line.scale) >= lower
    kept = _lowered(high, margin, line.scale) <= upper
    return np.asarray(reached & kept, dtype=np.bool_)


def _bounds(line: Line) -> tuple[float, float]:
    lower = -math.inf if line.lower is None else line.lower - _ROUNDING * abs(line.lower)
    upper = math.inf if line.upper is None else line.upper + _ROUNDING * abs(line.upper)
    return lower, upper


def _lowered(value: ArrayLike, margin: ArrayLike, scale: Scale) -> Floats:
    ends, by = np.asarray(value, dtype=np.float64), np.asarray(margin, dtype=np.float64)
    with np.errstate(invalid="ignore"):
        moved = ends * np.maximum(1.0 - by, 0.0) if scale == "log" else ends - by
    return np.where(np.isinf(ends), ends, moved)


def _raised(value: ArrayLike, margin: ArrayLike, scale: Scale) -> Floats:
    ends, by = np.asarray(value, dtype=np.float64), np.asarray(margin, dtype=np.float64)
    moved = ends * np.exp(np.minimum(by, _LARGEST_LOGARITHM)) if scale == "log" else ends + by
    return np.where(np.isinf(ends), ends, moved)
