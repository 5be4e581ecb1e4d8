"""Two means that stand apart together, which one test at a time would not see."""

import math
from dataclasses import dataclass
from functools import cache
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import optimize

from spc.charts.refusals import refuse_outside, spread_lots

Floats = NDArray[np.float64]

FEWEST_VALUES: Final = 4
# Steps of the tabulated distributions: critical values are right to 1e-5.
STEPS: Final = 2000
DIRECTIONS: Final = 40
ANGLES: Final = np.linspace(0.0, math.pi / 2.0, STEPS + 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlyingPair:
    """The two largest or the two smallest values, whichever stand farther apart.

    Attributes
    ----------
    statistic, critical
        Sum of squares without the two, as a share of that with them; what chance falls below at
        `risk`.
    positions
        Which they are, counted from 0.
    side
        ``"largest"`` or ``"smallest"``.
    outlying
        Whether the statistic is below its critical value.
    size
        Number of values, the two among them.
    risk
        Chance that a pair is called outlying where none is.
    """

    statistic: float
    critical: float
    positions: tuple[int, int]
    side: Literal["largest", "smallest"]
    outlying: bool
    size: int
    risk: float


def outlying_pair(x: ArrayLike, *, risk: float = 0.05) -> OutlyingPair:
    """Grubbs' test of two outlying values on the same side.

    Parameters
    ----------
    x : shape (values,)
        Any unit; at least four, finite, not all equal.
    risk
        Chance that normal values without outliers show a pair, on either side.

    Returns
    -------
    OutlyingPair

    Raises
    ------
    InvalidInput
        If there are too few values, one is not finite, they are all equal, or `risk` is not
        between 0 and a half.

    References
    ----------
    Grubbs, F. E. and Beck, G. (1972), Technometrics 14, 847-854.
    ISO 5725-2:1994, 7.3.4.2 and table 5.
    """
    values = spread_lots(x, where="Grubbs' test of a pair", fewest=FEWEST_VALUES)
    refuse_outside(risk, 0.0, 0.5, name="risk", where="Grubbs' test of a pair")
    order = np.argsort(values, kind="stable")
    total = np.square(values - values.mean()).sum()
    left = [values[kept] for kept in (order[:-2], order[2:])]
    shares = [float(np.square(one - one.mean()).sum() / total) for one in left]
    high = shares[0] <= shares[1]
    pair = order[-2:] if high else order[:2]
    critical = critical_pair(values.size, risk)
    return OutlyingPair(
        statistic=min(shares),
        critical=critical,
        positions=(int(pair[0]), int(pair[1])),
        side="largest" if high else "smallest",
        outlying=min(shares) < critical,
        size=values.size,
        risk=risk,
    )


@cache
def critical_pair(n: int, risk: float) -> float:
    """Smallest share of the sum of squares that chance leaves without a pair.

    Parameters
    ----------
    n
        Number of values, at least four.
    risk
        Chance that `n` normal values show a smaller one, with either the two largest or the two
        smallest left out.

    Returns
    -------
    float

    Notes
    -----
    Two given values are, seen from the mean of the others in the others' spread, a point whose
    distance and direction are independent; they are the largest two if both exceed the largest of
    the others.  So the chance is an integral over the direction and over that largest value, whose
    distribution follows from fewer values to more.  It agrees with the table of ISO 5725-2, which
    was simulated.
    """
    highest = _highest(n - 2)
    return float(
        optimize.brentq(lambda share: _chance(share, n, highest) - risk / 2.0, 1e-12, 1.0 - 1e-12)
    )


def _chance(share: float, n: int, highest: Floats) -> float:
    """Chance that the two largest of `n` values leave less than this share without them."""
    others = n - 2
    long = math.sqrt(1.0 + 2.0 / others)
    node, weight = np.polynomial.legendre.leggauss(DIRECTIONS)
    half = math.atan(long) / 2.0
    direction = half * (node + 1.0)
    smaller = (long * np.cos(direction) - np.sin(direction)) / math.sqrt(2.0)
    middle = (ANGLES[1:] + ANGLES[:-1]) / 2.0
    bar = math.sqrt((others - 1) / others) * np.sin(middle)
    distance = np.maximum(math.sqrt(1.0 / share - 1.0), bar / smaller[:, None])
    beyond = (1.0 + distance**2) ** (-(others - 1) / 2.0) @ np.diff(highest)
    return float(math.comb(n, 2) / math.pi * half * (weight @ beyond))


def _highest(k: int) -> Floats:
    """Distribution of how far the largest of `k` normal values lies from their mean.

    At `ANGLES`, whose sine times sqrt((k-1)/k) is that distance by the root of the sum of squares.

    References
    ----------
    Grubbs, F. E. (1950), Annals of Mathematical Statistics 21, 27-58: from k - 1 values to k.
    """
    if k == 2:
        # Of two values the larger is always as far out as it can be.
        return np.append(np.zeros(STEPS), 1.0)
    chance = np.maximum(0.0, 3.0 * ANGLES / math.pi - 0.5)
    for n in range(4, k + 1):
        sine = np.minimum(1.0, math.sqrt(n / (n - 2.0)) * np.tan(ANGLES))
        below = np.interp(np.arcsin(sine), ANGLES, chance)
        density = np.cos(ANGLES) ** (n - 3) * below
        rising = np.append(0.0, np.cumsum(density[1:] + density[:-1]))
        chance = rising / rising[-1]
    return chance
