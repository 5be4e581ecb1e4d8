"""Suppliers compared by the ranks of their lots, whatever the shape of the values."""

from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special, stats

from spc.compare.skewed.groups import checked_groups
from spc.errors import NoSpread

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

# Ranges of so many degrees of freedom are those of a known spread.
KNOWN_SPREAD: Final = np.inf


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RankComparison:
    """Whether suppliers differ in level, and which, by ranks.

    Attributes
    ----------
    statistic
        Kruskal and Wallis's H, corrected for ties.
    degrees
        Suppliers less one.
    p_value
        Chance of a larger H if all suppliers are alike; by chi-squared.
    mean_ranks : shape (suppliers,)
        Among all lots.
    pairs : shape (pairs, 2)
        Codes of the suppliers of each pair.
    dunn : shape (pairs,)
        Standardised difference of the two mean ranks among all lots.
    dunn_p : shape (pairs,)
        Its chance, by Holm for all pairs together.
    steel_dwass : shape (pairs,)
        Standardised rank sum of the first among the lots of the two alone.
    steel_dwass_p : shape (pairs,)
        Its chance for all pairs together, by the range of that many normal values.
    """

    statistic: float
    degrees: int
    p_value: float
    mean_ranks: Floats
    pairs: Integers
    dunn: Floats
    dunn_p: Floats
    steel_dwass: Floats
    steel_dwass_p: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class RankTest:
    """Kruskal and Wallis's H, corrected for ties.

    Attributes
    ----------
    statistic
    degrees
        Suppliers less one.
    p_value
        Chance of a larger H if all suppliers are alike; by chi-squared.
    """

    statistic: float
    degrees: int
    p_value: float


def kruskal_wallis(value: ArrayLike, supplier: ArrayLike) -> RankTest:
    """Whether suppliers differ in level, by ranks alone.

    Parameters
    ----------
    value : shape (lots,)
        Finite, in any unit or on any scale that keeps their order.
    supplier : shape (lots,)
        Code of each lot's supplier, from 0 without gaps; two suppliers or more.

    Returns
    -------
    RankTest

    Raises
    ------
    InvalidInput
        If lengths differ, a value is not finite, codes have gaps, or there is one supplier only.
    NoSpread
        If all values are equal.

    References
    ----------
    Kruskal & Wallis (1952), Journal of the American Statistical Association 47, 583-621.
    """
    values, code, lots = checked_groups(value, supplier, where="comparison by ranks")
    if np.ptp(values) == 0.0:
        raise NoSpread(value=float(values[0]), lots=values.size, where="comparison by ranks")
    return _test(stats.rankdata(values), code, lots)


def by_ranks(value: ArrayLike, supplier: ArrayLike) -> RankComparison:
    """Kruskal and Wallis's comparison of suppliers, with all pairs.

    Parameters
    ----------
    value : shape (lots,)
        Finite, in any unit or on any scale that keeps their order.
    supplier : shape (lots,)
        Code of each lot's supplier, from 0 without gaps; two suppliers or more.

    Returns
    -------
    RankComparison

    Raises
    ------
    InvalidInput
        If lengths differ, a value is not finite, codes have gaps, or there is one supplier only.
    NoSpread
        If all values are equal.

    Notes
    -----
    Large-sample chances; with fewer than five lots a supplier they are rough.  Ties get mean
    ranks, and every variance is the one that the tied ranks have.  Steel and Dwass's pairs rank
    two suppliers at a time, so a third cannot turn their order; Dunn's use the ranks among all.

    References
    ----------
    Kruskal, W. H. and Wallis, W. A. (1952), Journal of the American Statistical Association 47,
    583-621.  Dunn, O. J. (1964), Technometrics 6, 241-252.  Steel, R. G. D. (1960), Technometrics
    2, 197-207; Dwass, M. (1960).  Holm, S. (1979), Scandinavian Journal of Statistics 6, 65-70.
    """
    values, code, lots = checked_groups(value, supplier, where="comparison by ranks")
    if np.ptp(values) == 0.0:
        raise NoSpread(value=float(values[0]), lots=values.size, where="comparison by ranks")
    rank = stats.rankdata(values)
    mean_ranks = np.bincount(code, rank) / lots
    spread = float(np.var(rank, ddof=1))
    test = _test(rank, code, lots)
    pairs = np.array(list(combinations(range(lots.size), 2)), dtype=np.int64)
    first, second = pairs.T
    dunn = (mean_ranks[first] - mean_ranks[second]) / np.sqrt(
        spread * (1.0 / lots[first] + 1.0 / lots[second])
    )
    steel = np.array([_two_alone(values[code == a], values[code == b]) for a, b in pairs])
    ranges = np.sqrt(2.0) * np.abs(steel)
    return RankComparison(
        statistic=test.statistic,
        degrees=test.degrees,
        p_value=test.p_value,
        mean_ranks=mean_ranks,
        pairs=pairs,
        dunn=dunn,
        dunn_p=_holm(2.0 * special.ndtr(-np.abs(dunn))),
        steel_dwass=steel,
        steel_dwass_p=np.asarray(stats.studentized_range.sf(ranges, lots.size, KNOWN_SPREAD)),
    )


def _test(rank: Floats, code: Integers, lots: Integers) -> RankTest:
    off = np.bincount(code, rank) / lots - (rank.size + 1) / 2.0
    statistic = float(lots @ off**2) / float(np.var(rank, ddof=1))
    return RankTest(
        statistic=statistic,
        degrees=lots.size - 1,
        p_value=float(special.chdtrc(lots.size - 1, statistic)),
    )


def _two_alone(one: Floats, other: Floats) -> float:
    """Rank sum of one supplier among the lots of two, less its mean, in standard deviations."""
    rank = stats.rankdata(np.concatenate((one, other)))
    spread = float(np.var(rank, ddof=1))
    if spread == 0.0:
        return 0.0
    off = float(rank[: one.size].sum()) - one.size * (rank.size + 1) / 2.0
    return off / float(np.sqrt(spread * one.size * other.size / rank.size))


def _holm(chance: Floats) -> Floats:
    order = np.argsort(chance, kind="stable")
    stepped = np.maximum.accumulate(chance[order] * np.arange(chance.size, 0, -1))
    adjusted = np.empty_like(chance)
    adjusted[order] = np.minimum(stepped, 1.0)
    return adjusted
