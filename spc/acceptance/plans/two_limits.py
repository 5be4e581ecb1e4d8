"""How often a variables plan accepts a lot between two limits, exactly."""

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, special, stats

from spc.acceptance.plans.estimated import estimated_outside
from spc.acceptance.plans.variables import VariablesPlan
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

FEWEST_UNITS: Final = 4
# Gauss-Legendre nodes for each part of the sample's spread, and its ends in sigmas of it.
NODES: Final = 160
END: Final = 14.0
HALVINGS: Final = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """How readings of one lot vary.

    Attributes
    ----------
    reading
        Standard deviation of readings about the mean of their lot.
    mean
        Standard deviation of the mean of n readings about the true mean of the lot.
    """

    reading: float
    mean: float


def two_limit_acceptance(
    plan: VariablesPlan, mean: Floats, *, spread: Spread, lower: float, upper: float
) -> Floats:
    """Chance that a plan accepts between two limits by the estimated share outside.

    Parameters
    ----------
    plan
        That judges the lot.
    mean : shape (points,)
        True means of the lot.
    spread
        Of readings and of their mean.
    lower, upper
        Limits on the scale of `mean`.

    Returns
    -------
    array of shape (points,)

    Raises
    ------
    InvalidInput
        If sigma is unknown and the plan has fewer than four units, whose estimate is not
        smallest in the middle.

    Notes
    -----
    For every spread of the sample the accepted means are an interval about the middle of the
    limits; it is found by halving and integrated over the spread, whose square is chi-squared
    and independent of the mean.  The integral is cut where the interval changes its rule.

    References
    ----------
    MIL-STD-414 (1957), section B, Form 2.  Wald, A. and Wolfowitz, J. (1946), Annals of
    Mathematical Statistics 17, 208-215, for the integral.
    """
    middle, half = (lower + upper) / 2.0, (upper - lower) / 2.0
    off = mean - middle
    if plan.sigma_known:
        return _between(off, _known_reach(plan, half, spread.reading), spread.mean)
    if plan.n < FEWEST_UNITS:
        raise InvalidInput(
            f"{plan.n} units are too few for a curve between two limits.",
            where="decision curve",
            remedy=f"Use a plan of at least {FEWEST_UNITS} units.",
        )
    found, weight = _nodes(plan, half, spread.reading)
    reach = _reach(plan, half, found)
    inside = _between(off[..., np.newaxis], reach, spread.mean)
    return np.asarray(inside @ weight, dtype=np.float64)


def _between(off: Floats, reach: Floats | float, sigma: float) -> Floats:
    """Chance that a normal mean, `off` the middle, is found within `reach` of it."""
    inside = special.ndtr((reach - off) / sigma) - special.ndtr((-reach - off) / sigma)
    return np.asarray(np.where(np.asarray(reach) > 0.0, inside, 0.0), dtype=np.float64)


def _known_reach(plan: VariablesPlan, half: float, sigma: float) -> float:
    def excess(away: float) -> float:
        outside = estimated_outside(
            [(half - away) / sigma, (half + away) / sigma], n=plan.n, sigma_known=True
        )
        return float(outside.sum()) - plan.most_outside

    inner = half - plan.k * sigma
    if inner <= 0.0 or excess(0.0) > 0.0:
        return 0.0
    return float(optimize.brentq(excess, 0.0, inner)) if excess(inner) > 0.0 else inner


def _reach(plan: VariablesPlan, half: float, sigma: Floats) -> Floats:
    """How far off the middle the mean of an accepted sample may lie, for each of its spreads."""
    most = half - plan.k * sigma
    low, high = np.zeros_like(sigma), np.maximum(most, 0.0)
    for _ in range(HALVINGS):
        away = (low + high) / 2.0
        near = estimated_outside((half - away) / sigma, n=plan.n)
        far = estimated_outside((half + away) / sigma, n=plan.n)
        fits = near + far <= plan.most_outside
        low, high = np.where(fits, away, low), np.where(fits, high, away)
    return low


def _nodes(plan: VariablesPlan, half: float, sigma: float) -> tuple[Floats, Floats]:
    """Spreads of the sample and their probabilities, cut where the rule for the mean changes."""
    freedom = plan.n - 1
    deviation = 1.0 / math.sqrt(2.0 * freedom)
    least = sigma * max(0.0, 1.0 - END * deviation)
    most = sigma * (1.0 + END * deviation)
    # Up to here the far side adds nothing; up to the last, a centred sample is still accepted.
    beyond = freedom / math.sqrt(plan.n)
    alone = 2.0 * half / max(plan.k + beyond, 1e-300)
    place = special.betaincinv(freedom / 2.0 - 0.5, freedom / 2.0 - 0.5, plan.most_outside / 2.0)
    last = half / max((1.0 - 2.0 * float(place)) * beyond, 1e-300)
    edges = np.clip([0.0, min(alone, last), last], least, most)
    parts = [_part(float(a), float(b)) for a, b in pairwise(edges) if a < b]
    if not parts:
        return np.array([sigma]), np.zeros(1)
    found = np.concatenate([each[0] for each in parts])
    width = np.concatenate([each[1] for each in parts])
    density = stats.chi.pdf(found / sigma * math.sqrt(freedom), freedom)
    return found, width * density * math.sqrt(freedom) / sigma


def _part(start: float, end: float) -> tuple[Floats, Floats]:
    """Nodes of one part, dense at its end, where the reach falls off like a square root."""
    node, weight = np.polynomial.legendre.leggauss(NODES)
    left = (node + 1.0) / 2.0
    return end - (end - start) * left**2, (end - start) * left * weight
