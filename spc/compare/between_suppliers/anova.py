"""Whether suppliers differ in level, and whether they differ in spread: one F test each."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from spc.compare.between_suppliers.lots_by_supplier import GroupedLots
from spc.compare.between_suppliers.simulated_shares import blocks, share_error

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class FTest:
    """A ratio of two mean squares.

    Attributes
    ----------
    statistic
        F.
    degrees_between, degrees_within
        Degrees of freedom of numerator and denominator; Welch's denominator is not whole.
    p_value
        Chance of a larger F if the suppliers are alike.
    """

    statistic: float
    degrees_between: int
    degrees_within: float
    p_value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SimulatedTest:
    """A p-value found by drawing.

    Attributes
    ----------
    p_value
        Chance of a larger statistic if the suppliers are alike.
    standard_error
        Of `p_value`, by the number of draws.
    draws
        That number.
    """

    p_value: float
    standard_error: float
    draws: int


def one_way(groups: GroupedLots) -> FTest:
    """Classic one-way analysis of variance of the levels.

    Parameters
    ----------
    groups
        Of two suppliers or more, with more lots than suppliers.

    Returns
    -------
    FTest
        Exact for normal lots of one spread.

    Notes
    -----
    Spreads that differ move its risk little while every supplier has equally many lots, and far
    otherwise.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, section 7.4.3.
    Box, G. E. P. (1954), Annals of Mathematical Statistics 25, 290-302 (unequal spreads).
    """
    within = float(groups.degrees @ groups.variance)
    return _f_test(groups.lots, groups.mean, within)


def brown_forsythe(groups: GroupedLots) -> FTest:
    """Whether suppliers differ in spread: analysis of variance of distances from the medians.

    Parameters
    ----------
    groups
        Of two suppliers or more, with more lots than suppliers.

    Returns
    -------
    FTest
        Approximate, and not misled by tails that are longer than normal.

    References
    ----------
    Brown, M. B. and Forsythe, A. B. (1974), Journal of the American Statistical Association 69,
    364-367.
    NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.5.10: Levene's test with medians.
    """
    distance = np.abs(groups.value - np.repeat(groups.medians, groups.lots))
    mean = np.add.reduceat(distance, groups.starts) / groups.lots
    off = distance - np.repeat(mean, groups.lots)
    return _f_test(groups.lots, mean, float(off @ off))


def welch(groups: GroupedLots) -> FTest:
    """Whether suppliers differ in level, each with its own spread.

    Parameters
    ----------
    groups
        Of two suppliers or more, each with two lots or more that are not all equal.

    Returns
    -------
    FTest
        Approximate: close with few suppliers, too ready to find a difference among many with few
        lots each; see `welch_simulated`.

    Notes
    -----
    What it says to be 5 % is, for suppliers of one spread with four lots each: 4 % for three
    suppliers, 6 % for five, 10 % for ten and 18 % for twenty; with twelve lots each 6 % for twenty
    (40 000 simulated comparisons).

    References
    ----------
    Welch, B. L. (1951), Biometrika 38, 330-336.
    """
    size = groups.lots.size
    weight = groups.lots / groups.variance
    share = weight / weight.sum()
    doubt = float(((1.0 - share) ** 2 / groups.degrees).sum())
    between = float(_weighted_squares(groups.mean, weight)) / (size - 1)
    statistic = between / (1.0 + 2.0 * (size - 2) / (size**2 - 1) * doubt)
    within = (size**2 - 1) / (3.0 * doubt)
    return FTest(
        statistic=statistic,
        degrees_between=size - 1,
        degrees_within=within,
        p_value=float(special.fdtrc(size - 1, within, statistic)),
    )


def welch_simulated(
    groups: GroupedLots, *, draws: int, generator: np.random.Generator
) -> SimulatedTest:
    """Welch's question with its chance drawn, for many suppliers with few lots each.

    Parameters
    ----------
    groups
        Of two suppliers or more, each with two lots or more that are not all equal.
    draws
        How many comparisons of equal suppliers to draw.
    generator
        Source of the draws; the same state gives the same result.

    Returns
    -------
    SimulatedTest
        The stated risk is kept with three lots a supplier as well: parametric bootstrap.

    References
    ----------
    Krishnamoorthy, K., Lu, F. and Mathew, T. (2007), Computational Statistics and Data Analysis
    51, 5731-5742.
    """
    found = float(_weighted_squares(groups.mean, groups.lots / groups.variance))
    error = np.sqrt(groups.variance / groups.lots)
    beyond = 0
    for size in blocks(draws):
        shape = (size, groups.lots.size)
        mean = error * generator.standard_normal(shape)
        shrink = generator.standard_gamma(groups.degrees / 2.0, shape) * 2.0 / groups.degrees
        beyond += int((_weighted_squares(mean, 1.0 / (error**2 * shrink)) >= found).sum())
    return SimulatedTest(
        p_value=beyond / draws, standard_error=float(share_error(beyond, draws)), draws=draws
    )


def _weighted_squares(mean: Floats, weight: Floats) -> Floats:
    """Weighted sum of squares about the weighted mean, along the last axis."""
    center = (weight * mean).sum(axis=-1, keepdims=True) / weight.sum(axis=-1, keepdims=True)
    return np.asarray((weight * (mean - center) ** 2).sum(axis=-1), dtype=np.float64)


def _f_test(lots: NDArray[np.int64], mean: Floats, within: float) -> FTest:
    between = float(_weighted_squares(mean, lots.astype(np.float64)))
    above, below = lots.size - 1, int(lots.sum()) - lots.size
    with np.errstate(divide="ignore", invalid="ignore"):
        statistic = float(np.float64(between / above) / np.float64(within / below))
    return FTest(
        statistic=statistic,
        degrees_between=above,
        degrees_within=float(below),
        p_value=float(special.fdtrc(above, below, statistic)),
    )
