"""How many lots pass before a chart of lots or that of their moving range signals."""

import math
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.charts.refusals import refuse_outside
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

FEWEST_NODES: Final = 12
MOST_NODES: Final = 96
MOST_PIECES: Final = 40
# Relative change on doubling the nodes at which the smaller number of them was enough.
SETTLED: Final = 1e-10
# A general solver loses as many digits as the run length has, so beyond this none is given.
LONGEST: Final = 1e7
# Ends of pieces closer than this, in sigmas, are one.
SAME: Final = 1e-9


def run_length_individuals(*, width: float, range_width: float, shift: float = 0.0) -> float:
    """Average number of lots until a lot or its distance from the one before is out.

    Parameters
    ----------
    width
        Distance from centre line to limit of the lots, in sigmas, usually 3.
    range_width
        Upper limit of the moving range, in sigmas of a lot: 3.686 is the usual one, d2 + 3 d3.
    shift
        Distance of the true mean from the centre line, in sigmas, from the first lot on.

    Returns
    -------
    float
        In lots, the signalling one included; to within 1e-8 of itself.

    Raises
    ------
    InvalidInput
        If a width is not positive, `shift` is not finite, the limits are so far apart that
        there would be more than ten million lots, or `range_width` is below about a tenth
        of `width`.

    Notes
    -----
    Independent normal lots, known centre and sigma; the first lot has no moving range.
    Crowder's integral equation, solved by collocation on the pieces between which the run
    length bends: the limits, and every point a whole number of `range_width` inside them.

    References
    ----------
    Crowder, S. V. (1987), Journal of Quality Technology 19(2), 98-102 and 103-106.
    """
    where = "run_length_individuals"
    refuse_outside(width, 0.0, math.inf, name="width", where=where)
    refuse_outside(range_width, 0.0, math.inf, name="range width", where=where)
    refuse_outside(shift, -math.inf, math.inf, name="shift", where=where)
    return _settled(float(width), float(range_width), float(shift))


@lru_cache(maxsize=1024)
def _settled(width: float, range_width: float, shift: float) -> float:
    ends = _pieces(width, range_width)
    nodes, found = FEWEST_NODES, math.inf
    while nodes <= MOST_NODES:
        before, found = found, _length(ends, nodes, range_width, shift)
        if not 0.0 < found <= LONGEST:
            break
        if abs(found - before) <= SETTLED * found:
            return found
        nodes *= 2
    raise InvalidInput(
        f"limits {width:g} sigmas out with a moving range up to {range_width:g} sigmas have no"
        f" run length that can be worked out below {LONGEST:.0f} lots.",
        where="run_length_individuals",
        remedy="Use narrower limits, usually 3 and 3.686 sigmas.",
    )


def _pieces(width: float, range_width: float) -> Floats:
    """Ends of the pieces within which the run length is smooth, from limit to limit."""
    steps = math.floor(2.0 * width / range_width)
    if 2 * steps + 1 > MOST_PIECES:
        raise InvalidInput(
            f"a moving range up to {range_width:g} sigmas is too narrow beside limits"
            f" {width:g} sigmas out.",
            where="run_length_individuals",
            remedy="Give a range width of a tenth of the width or more.",
        )
    inside = width - range_width * np.arange(steps + 1)
    ends = np.sort(np.concatenate((-inside, inside, [-width, width])))
    return np.asarray(ends[np.append(True, np.diff(ends) > SAME)], dtype=np.float64)


def _length(ends: Floats, nodes: int, range_width: float, shift: float) -> float:
    x, w = np.polynomial.legendre.leggauss(nodes)
    middle, half = (ends[1:] + ends[:-1]) / 2.0, np.diff(ends) / 2.0
    last = (middle[:, None] + half[:, None] * x).ravel()
    moves = np.zeros((last.size, last.size))
    interpolate = _interpolation(x, w)
    for piece, (center, reach) in enumerate(zip(middle, half, strict=True)):
        low = np.clip(last - range_width, center - reach, center + reach)
        high = np.clip(last + range_width, center - reach, center + reach)
        lot = (low + high)[:, None] / 2.0 + (high - low)[:, None] / 2.0 * x
        weight = (high - low)[:, None] / 2.0 * w * _normal(lot - shift)
        values = np.polynomial.legendre.legvander((lot - center) / reach, nodes - 1) @ interpolate
        moves[:, piece * nodes : (piece + 1) * nodes] = np.einsum("ij,ijk->ik", weight, values)
    lengths = np.linalg.solve(np.eye(last.size) - moves, np.ones(last.size))
    weight = (half[:, None] * w).ravel() * _normal(last - shift)
    return float(1.0 + weight @ lengths)


def _interpolation(x: Floats, w: Floats) -> Floats:
    """Legendre coefficients (rows) of the polynomial through a value at each node (columns)."""
    degree = np.arange(x.size)
    vander = np.polynomial.legendre.legvander(x, x.size - 1)
    return np.asarray((2 * degree[:, None] + 1) / 2.0 * vander.T * w, dtype=np.float64)


def _normal(x: Floats) -> Floats:
    return np.asarray(np.exp(-0.5 * x * x) / math.sqrt(2.0 * math.pi), dtype=np.float64)
