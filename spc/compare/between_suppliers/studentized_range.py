"""The studentized range, for many pairs of suppliers at once."""

from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import interpolate, special
from scipy.optimize import elementwise

Floats = NDArray[np.float64]

# The range of normal values: where it is tabulated, and the grid of the largest of them.
WIDEST: Final = 30.0
RANGE_STEP: Final = 0.05
LARGEST_STEP: Final = 0.125
NORMAL_END: Final = 8.5
# The spread it is divided by: nodes over its logarithm, to where its density has fallen by e^-25.
NODES: Final = 96
FALL: Final = 25.0
# Quantiles: between which logarithms they are sought, and the polynomial between them.
LOG_QUANTILES: Final = (-7.0, 20.0)
QUANTILE_DEGREE: Final = 24
FEWEST_DEGREES: Final = 2.0


def range_sf(q: ArrayLike, *, groups: int, degrees: ArrayLike) -> Floats:
    """Chance that a studentized range exceeds `q`.

    Parameters
    ----------
    q : any shape
        Range of means over the standard deviation of one mean; zero or more.
    groups
        Number of means.
    degrees : shape of `q`
        Degrees of freedom of that standard deviation, two or more; need not be whole.

    Returns
    -------
    array of the shape of `q`
        Within 1e-8.

    Notes
    -----
    The range of normal values by the trapezoidal rule over the largest of them, once for a number
    of groups; then its mean over the logarithm of the spread, again by the trapezoidal rule, whose
    error falls exponentially for such integrands.  That is a few hundred times faster than
    SciPy's `studentized_range`, which integrates adaptively for every value.

    References
    ----------
    Hartley, H. O. (1942), Biometrika 32, 309-310 (the integrals).
    Trefethen, L. N. and Weideman, J. A. C. (2014), SIAM Review 56, 385-458 (the rule).
    """
    log_chance = _log_chance_of_normal_range(groups)
    ranges, freedom = np.broadcast_arrays(
        np.asarray(q, dtype=np.float64), np.asarray(degrees, dtype=np.float64)
    )
    spread, weight = _spreads(freedom[..., None])
    chance = np.exp(log_chance(np.minimum(ranges[..., None] * spread, WIDEST)))
    return np.asarray((chance * weight).sum(axis=-1), dtype=np.float64)


def range_isf(risk: float, *, groups: int, degrees: ArrayLike) -> Floats:
    """The studentized range that is exceeded with a stated chance.

    Parameters
    ----------
    risk
        That chance, between 1e-9 and 1.
    groups
        Number of means.
    degrees : any shape
        Degrees of freedom of the standard deviation, two or more.

    Returns
    -------
    array of the shape of `degrees`
        Within a share of 1e-7, from a polynomial in one over the degrees of freedom.
    """
    log_quantile = _log_quantiles(risk, groups)
    return np.exp(np.asarray(log_quantile(1.0 / np.asarray(degrees)), dtype=np.float64))


@lru_cache(maxsize=64)
def _log_quantiles(risk: float, groups: int) -> np.polynomial.Chebyshev:
    """Logarithm of the quantile as a function of one over the degrees of freedom."""

    def excess(log_q: Floats, freedom: Floats) -> Floats:
        return range_sf(np.exp(log_q), groups=groups, degrees=freedom) - risk

    def log_quantile(inverse: Floats) -> Floats:
        freedom = 1.0 / inverse
        ends = (np.full(freedom.shape, LOG_QUANTILES[0]), np.full(freedom.shape, LOG_QUANTILES[1]))
        return np.asarray(elementwise.find_root(excess, ends, args=(freedom,)).x)

    domain = [0.0, 1.0 / FEWEST_DEGREES]
    return np.polynomial.Chebyshev.interpolate(log_quantile, QUANTILE_DEGREE, domain=domain)


@lru_cache(maxsize=64)
def _log_chance_of_normal_range(groups: int) -> interpolate.BSpline:
    """Logarithm of the chance that `groups` standard normal values span more than a width."""
    width = np.arange(0.0, WIDEST + RANGE_STEP / 2.0, RANGE_STEP)
    largest = np.arange(-NORMAL_END, WIDEST / 2.0 + NORMAL_END, LARGEST_STEP)
    below = special.ndtr(largest)
    density = np.exp(-0.5 * largest**2) / np.sqrt(2.0 * np.pi) * LARGEST_STEP
    beyond = special.ndtr(largest - width[:, None]) / below
    with np.errstate(divide="ignore"):
        # All others within the width below the largest, and the complement of that.
        spans = -np.expm1((groups - 1) * np.log1p(-beyond))
    chance = spans @ (groups * density * below ** (groups - 1))
    return interpolate.make_interp_spline(width, np.log(chance), k=5)


def _spreads(freedom: Floats) -> tuple[Floats, Floats]:
    """Nodes over the spread, in units of the true one, and their weights."""
    part = FALL / freedom
    # Where the density of the logarithm has fallen by more than e^-FALL, below and above.
    low = -0.5 * (part + np.sqrt(part * (part + 4.0)))
    high = 0.5 * np.log1p(2.0 * (part + np.sqrt(part)))
    node = low + (high - low) * np.linspace(0.0, 1.0, NODES)
    weight = np.exp(-freedom * (0.5 * np.expm1(2.0 * node) - node))
    return np.exp(node), weight / weight.sum(axis=-1, keepdims=True)
