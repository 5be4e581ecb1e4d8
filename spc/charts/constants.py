"""What the range and the standard deviation of a few normal values are on average.

Computed to full precision for any number of values; printed tables are what the tests
compare with.
"""

import math
import operator
from functools import lru_cache
from typing import Final, SupportsIndex

import numpy as np
from numpy.typing import NDArray
from scipy import special

from spc.errors import InvalidInput

FEWEST_VALUES: Final = 2
NODES_PER_PANEL: Final = 20
NEGLIGIBLE: Final = 1e-18
LARGEST_BY_GAMMA: Final = 340
# Ratio of gamma functions half apart, from Stirling's series; the next term is below 1e-17.
SERIES: Final = (1.0, -1 / 4, 1 / 32, 5 / 128, -21 / 2048, -399 / 8192)


def d2(n: SupportsIndex) -> float:
    """Mean range of `n` independent values of the standard normal distribution.

    Parameters
    ----------
    n
        Number of values, at least two.

    Returns
    -------
    float
        In standard deviations.

    Raises
    ------
    InvalidInput
        If `n` is not a whole number or is below two.

    Notes
    -----
    The integral of 1 - F(x)^n - (1 - F(x))^n over the real line, F being the normal
    distribution function, by Gauss-Legendre quadrature in panels of about one sigma.

    References
    ----------
    Tippett, L. H. C. (1925), Biometrika 17, 364-387; ISO 7870-2, factors for ranges.
    """
    return _mean_range(_group_size(n, "d2"))


def d3(n: SupportsIndex) -> float:
    """Standard deviation of the range of `n` independent standard normal values.

    Parameters
    ----------
    n
        Number of values, at least two.

    Returns
    -------
    float
        In standard deviations.

    Raises
    ------
    InvalidInput
        If `n` is not a whole number or is below two.

    Notes
    -----
    The mean squared range is twice the integral, over x < y, of the chance that the
    smallest value lies below x and the largest above y.

    References
    ----------
    Tippett, L. H. C. (1925), Biometrika 17, 364-387; ISO 7870-2, factors for ranges.
    """
    size = _group_size(n, "d3")
    return math.sqrt(_mean_squared_range(size) - _mean_range(size) ** 2)


def c4(n: SupportsIndex) -> float:
    """Mean sample standard deviation of `n` independent standard normal values.

    Parameters
    ----------
    n
        Number of values, at least two.

    Returns
    -------
    float
        In standard deviations.

    Raises
    ------
    InvalidInput
        If `n` is not a whole number or is below two.

    Notes
    -----
    sqrt(2 / (n - 1)) Gamma(n / 2) / Gamma((n - 1) / 2); by its series in 1 / (n - 1) where
    the gamma function would overflow, since the difference of its logarithms loses digits.

    References
    ----------
    ISO 7870-2, factors for standard deviations.
    """
    size = _group_size(n, "c4")
    if size > LARGEST_BY_GAMMA:
        return float(np.polynomial.polynomial.polyval(1.0 / (size - 1), SERIES))
    return math.sqrt(2.0 / (size - 1)) * math.gamma(size / 2) / math.gamma((size - 1) / 2)


def _group_size(n: SupportsIndex, where: str) -> int:
    try:
        size = operator.index(n)
    except TypeError as problem:
        raise InvalidInput(
            f"{n!r} is not a whole number.",
            where=where,
            remedy="Give the number of values in a group.",
        ) from problem
    if size < FEWEST_VALUES:
        raise InvalidInput(
            f"a group of {size} has no spread.", where=where, remedy="Give at least two values."
        )
    return size


@lru_cache
def _mean_range(n: int) -> float:
    x, weight = _nodes(-_reach(n), _reach(n))
    return float(weight @ (_largest_above(x, n) - np.exp(n * special.log_ndtr(-x))))


@lru_cache
def _mean_squared_range(n: int) -> float:
    x, weight_x = _nodes(-_reach(n), _reach(n))
    spread, weight_spread = _nodes(0.0, 2.0 * _reach(n))
    low, high = x[:, None], x[:, None] + spread
    outside = np.minimum(special.ndtr(low) + special.ndtr(-high), 1.0)
    straddled = (
        _largest_above(high, n)
        - np.exp(n * special.log_ndtr(-low))
        + np.exp(special.xlog1py(n, -outside))
    )
    return float(2.0 * (weight_x @ straddled @ weight_spread))


def _largest_above(x: NDArray[np.float64], n: int) -> NDArray[np.float64]:
    return np.asarray(-np.expm1(n * special.log_ndtr(x)), dtype=np.float64)


def _reach(n: int) -> float:
    """Distance from zero beyond which none of `n` values is ever met."""
    return -float(special.ndtri(NEGLIGIBLE / n))


def _nodes(low: float, high: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Nodes and weights of Gauss-Legendre quadrature in panels of at most one sigma."""
    node, weight = np.polynomial.legendre.leggauss(NODES_PER_PANEL)
    edges = np.linspace(low, high, math.ceil(high - low) + 1)
    half = np.diff(edges)[:, None] / 2.0
    nodes = edges[:-1, None] + half * (1.0 + node)
    return nodes.ravel(), (half * weight).ravel()
