"""Whether counted shares differ, and which pairs of them."""

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from spc.errors import InvalidInput

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShareComparison:
    """Counted shares against each other.

    Attributes
    ----------
    statistic
        Chi-squared of all shares being one.
    degrees
        Groups less one.
    p_value
        Chance of a larger one if they are.
    smallest_expected
        Smallest expected count; below five the chances are rough.
    shares : shape (groups,)
    pairs : shape (pairs, 2)
        Codes of the groups of each pair.
    difference : shape (pairs,)
        Share of the first less that of the second.
    critical : shape (pairs,)
        How far apart the two may lie, for all pairs together.
    differs : shape (pairs,)
        Whether they lie further apart.
    risk
        Chance that any pair of equal shares is told to differ.
    """

    statistic: float
    degrees: int
    p_value: float
    smallest_expected: float
    shares: Floats
    pairs: Integers
    difference: Floats
    critical: Floats
    differs: NDArray[np.bool_]
    risk: float


def share_pairs(counted: ArrayLike, among: ArrayLike, *, risk: float = 0.05) -> ShareComparison:
    """Homogeneity of shares, and every pair at one joint risk.

    Parameters
    ----------
    counted, among : shape (groups,)
        Of how many units, or lots, how many were counted.
    risk
        Joint risk of the pairs.

    Returns
    -------
    ShareComparison

    Raises
    ------
    InvalidInput
        If there are fewer than two groups, a count is not whole and from 0 to its total, all
        or none were counted, or the risk is not between 0 and 1.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, sections 7.4.5 and 7.4.7.4.
    Marascuilo, L. A. (1966), Psychological Bulletin 65, 280-290.
    """
    count, total = np.asarray(counted, dtype=np.float64), np.asarray(among, dtype=np.float64)
    _check(count, total, risk)
    shares = count / total
    pooled = float(count.sum() / total.sum())
    expected = np.stack((total * pooled, total * (1.0 - pooled)))
    observed = np.stack((count, total - count))
    statistic = float(((observed - expected) ** 2 / expected).sum())
    pairs = np.array(list(combinations(range(count.size), 2)), dtype=np.int64)
    first, second = pairs.T
    variance = shares * (1.0 - shares) / total
    reach = float(special.chdtri(count.size - 1, risk))
    critical = np.sqrt(reach * (variance[first] + variance[second]))
    difference = shares[first] - shares[second]
    return ShareComparison(
        statistic=statistic,
        degrees=count.size - 1,
        p_value=float(special.chdtrc(count.size - 1, statistic)),
        smallest_expected=float(expected.min()),
        shares=shares,
        pairs=pairs,
        difference=difference,
        critical=critical,
        differs=np.abs(difference) > critical,
        risk=risk,
    )


def _check(count: Floats, total: Floats, risk: float) -> None:
    where = "comparison of shares"
    if count.ndim != 1 or count.shape != total.shape or count.size < 2:
        raise InvalidInput(
            "two counts or more are needed, each with its total.",
            where=where,
            remedy="Give a count and a total a group.",
        )
    whole = np.all(count == np.rint(count)) and np.all(total == np.rint(total))
    if not whole or not np.all((count >= 0) & (count <= total) & (total > 0)):
        raise InvalidInput(
            "a count is not a whole number from 0 to its total.",
            where=where,
            remedy="Give whole numbers.",
        )
    if count.sum() in (0.0, total.sum()):
        raise InvalidInput(
            "all shares are 0, or all are 1, so nothing differs.",
            where=where,
            remedy="There is nothing to compare.",
        )
    if not 0.0 < risk < 1.0:
        raise InvalidInput(
            f"a risk of {risk:g} is none.", where=where, remedy="Give one between 0 and 1."
        )
