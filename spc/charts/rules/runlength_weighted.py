"""How many lots pass before an EWMA or CUSUM chart signals, by the integral equation."""

import math
from collections.abc import Callable
from functools import lru_cache
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray
from scipy import special

from spc.charts.refusals import refuse_outside
from spc.charts.rules.chains import mean_steps
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

FEWEST_NODES: Final = 20
MOST_NODES: Final = 1280
# Relative change on doubling the nodes at which the smaller number of them was enough.
SETTLED: Final = 1e-9
# Share of the steady variance still missing at which widening limits count as steady.
STILL_WIDENING: Final = 1e-11


def run_length_ewma(
    *, weight: float, width: float, shift: float = 0.0, steady: bool = True
) -> float:
    """Average number of lots until an EWMA chart signals.

    Parameters
    ----------
    weight
        Of the newest lot, above 0 and at most 1.
    width
        Distance from centre line to limit, in sigmas of the weighted mean.
    shift
        Distance of the true mean from the target, in sigmas of a lot, from the first on.
    steady
        Whether the limits are steady from the first lot on, as in the published tables,
        or widen with the variance of the weighted mean, as `ewma` draws them by default.

    Returns
    -------
    float
        In lots, the signalling one included; to within 1e-6 of itself.

    Raises
    ------
    InvalidInput
        If `weight` is not above 0 and at most 1, `width` is not positive, `shift` is not
        finite, or the weight is so small that 1280 nodes do not resolve it.

    Notes
    -----
    Independent normal lots, known target and sigma, mean begun at the target.  Crowder's
    integral equation at Gauss-Legendre nodes, doubled until the result stands still; they
    are states of a chain (`chains.mean_steps`), so that any run length keeps its digits.
    While limits widen, the density of the mean is followed from lot to lot.

    References
    ----------
    Crowder, S. V. (1987), Technometrics 29(4), 401-407.
    Lucas, J. M. and Saccucci, M. S. (1990), Technometrics 32(1), 1-12.
    """
    where = "run_length_ewma"
    refuse_outside(width, 0.0, math.inf, name="width", where=where)
    refuse_outside(shift, -math.inf, math.inf, name="shift", where=where)
    refuse_outside(weight, 0.0, math.nextafter(1.0, 2.0), name="weight", where=where)
    limit = width * math.sqrt(weight / (2.0 - weight))
    solve = ewma_steady if steady else ewma_widening
    return _settled(solve, (weight, limit, shift), span=2.0 * limit / weight, where=where)


def run_length_cusum(
    *,
    reference: float,
    decision: float,
    shift: float = 0.0,
    head_start: float = 0.0,
    sides: Literal[1, 2] = 2,
) -> float:
    """Average number of lots until a CUSUM chart signals.

    Parameters
    ----------
    reference, decision
        Slack taken off each lot, and the height at which a sum signals; in sigmas.
    shift
        Distance of the true mean from the target, in sigmas, from the first lot on.
    head_start
        Height at which each sum begins, in sigmas; half of `decision` is usual.
    sides
        Two sums against shifts either way, or the upper one alone.

    Returns
    -------
    float
        In lots, the signalling one included; to within 1e-6 of itself.

    Raises
    ------
    InvalidInput
        If `reference` is negative, `decision` not positive, `shift` not finite, `sides`
        neither 1 nor 2, `head_start` not between 0 and `decision`, or, on two sides,
        above half of `decision` plus `reference`.

    Notes
    -----
    As `run_length_ewma`, with falling back to zero as a state of its own.

    Two sides: 1/L = 1/L+ + 1/L- is exact from a start at zero, because a sum that signals
    always finds the other at zero.  Together the two sums never exceed `decision` while
    both are above zero, since each lot then takes twice `reference` off them; that needs
    a `reference` of zero or more, one `decision` for both, and head starts that together
    are at most `decision` + 2 `reference`.  With a head start s, and by the same fact,
    L = (L+(s) / L+(0) + L-(s) / L-(0) - 1) / (1 / L+(0) + 1 / L-(0)).

    References
    ----------
    Page, E. S. (1954), Biometrika 41, 100-115.
    Lucas, J. M. and Crosier, R. B. (1982), Technometrics 24(3), 199-205.
    """
    where = "run_length_cusum"
    refuse_outside(decision, 0.0, math.inf, name="decision", where=where)
    refuse_outside(shift, -math.inf, math.inf, name="shift", where=where)
    _check_cusum(reference, decision, head_start, sides)
    solve = cusum_upper if sides == 1 else cusum_both
    settings = (shift, reference, decision, head_start)
    return _settled(solve, settings, span=decision, where=where)


def ewma_steady(nodes: int, weight: float, limit: float, shift: float) -> float:
    """Average run length from so many nodes; `limit` in sigmas of a lot."""
    return float(_ewma_lengths(nodes, weight, limit, shift)[0])


def ewma_widening(nodes: int, weight: float, limit: float, shift: float) -> float:
    """The same with limits that widen: lots survived while they do, and what then is left."""
    node, node_weight = _nodes(-1.0, 1.0, nodes)
    widening = _widening(weight)
    height = limit * widening[0]
    density = _density(height * node, np.zeros(1), weight, shift)[0]
    lots = 1.0
    for share in widening[1:]:
        mass = height * node_weight * density
        lots += float(mass.sum())
        density = mass @ _density(limit * share * node, height * node, weight, shift)
        height = limit * share
    left = _ewma_lengths(nodes, weight, limit, shift)[1:]
    return lots + float(height * node_weight * density @ left)


def cusum_upper(
    nodes: int, shift: float, reference: float, decision: float, head_start: float
) -> float:
    """Average run length of the upper sum from its head start on, from so many nodes."""
    return float(_cusum_lengths(nodes, shift - reference, decision, head_start)[-1])


def cusum_both(
    nodes: int, shift: float, reference: float, decision: float, head_start: float
) -> float:
    """Average run length of both sums together, each begun at its head start."""
    up = _cusum_lengths(nodes, shift - reference, decision, head_start)
    down = _cusum_lengths(nodes, -shift - reference, decision, head_start)
    # Of a sum that never signals, inf / inf is one.
    shares = [1.0 if math.isinf(sum_[0]) else float(sum_[-1] / sum_[0]) for sum_ in (up, down)]
    rate = float(1.0 / up[0] + 1.0 / down[0])
    return (sum(shares) - 1.0) / rate if rate > 0.0 else math.inf


def _ewma_lengths(nodes: int, weight: float, limit: float, shift: float) -> Floats:
    """Average run lengths from the target and from each node."""
    node, node_weight = _nodes(-limit, limit, nodes)
    begin = np.append(0.0, node)
    moves = np.zeros((begin.size, begin.size))
    moves[:, 1:] = node_weight * _density(node, begin, weight, shift)
    kept = (1.0 - weight) * begin
    above = special.ndtr((kept - limit) / weight + shift)
    below = special.ndtr(-(kept + limit) / weight - shift)
    return mean_steps(moves, above + below)


def _density(after: Floats, before: Floats, weight: float, shift: float) -> Floats:
    """Density of the weighted mean at each value after one lot, a row for each one before."""
    lot = (after - (1.0 - weight) * before[:, None]) / weight
    return np.asarray(_normal(lot - shift) / weight, dtype=np.float64)


def _widening(weight: float) -> Floats:
    """Limits of the first lots as a share of the steady ones."""
    missing = 2.0 * math.log1p(-weight) if weight < 1.0 else -math.inf
    lots = max(math.ceil(math.log(STILL_WIDENING) / missing), 1)
    return np.asarray(np.sqrt(-np.expm1(missing * np.arange(1, lots + 1))), dtype=np.float64)


def _cusum_lengths(nodes: int, drift: float, decision: float, head_start: float) -> Floats:
    """Average run lengths of an upper sum from zero, from each node, and from its head start."""
    node, node_weight = _nodes(0.0, decision, nodes)
    begin = np.concatenate(([0.0], node, [head_start]))
    moves = np.zeros((begin.size, begin.size))
    moves[:, 0] = special.ndtr(-begin - drift)
    moves[:, 1:-1] = node_weight * _normal(node - begin[:, None] - drift)
    return mean_steps(moves, special.ndtr(begin + drift - decision))


def _normal(x: Floats) -> Floats:
    return np.asarray(np.exp(-0.5 * x * x) / math.sqrt(2.0 * math.pi), dtype=np.float64)


def _nodes(low: float, high: float, count: int) -> tuple[Floats, Floats]:
    node, weight = np.polynomial.legendre.leggauss(count)
    half = (high - low) / 2.0
    return low + half * (1.0 + node), half * weight


@lru_cache(maxsize=1024)
def _settled(
    solve: Callable[..., float], settings: tuple[float, ...], *, span: float, where: str
) -> float:
    """The result of so many nodes that twice as many give the same; `span` in sigmas."""
    nodes = max(FEWEST_NODES, math.ceil(span))
    found = math.inf
    while nodes <= MOST_NODES:
        before, found = found, solve(nodes, *settings)
        if found == before or abs(found - before) <= SETTLED * found:
            return found
        nodes *= 2
    raise InvalidInput(
        f"the statistic moves over {span:g} sigmas, too finely for {MOST_NODES} nodes.",
        where=where,
        remedy="Use a larger weight, or a lower decision height.",
    )


def _check_cusum(reference: float, decision: float, head_start: float, sides: int) -> None:
    where = "run_length_cusum"
    if not 0.0 <= reference < math.inf:
        raise InvalidInput(
            f"a reference of {reference:g} sigmas cannot be used.",
            where=where,
            remedy="Give zero or more, usually half the shift to be found.",
        )
    if sides not in (1, 2):
        raise InvalidInput(f"a chart has no {sides} sides.", where=where, remedy="Use 1 or 2.")
    highest = decision if sides == 1 else min(decision, decision / 2.0 + reference)
    if not 0.0 <= head_start <= highest:
        raise InvalidInput(
            f"from a head start of {head_start:g} sigmas no exact run length is known.",
            where=where,
            remedy=f"Give between 0 and {highest:g}.",
        )
