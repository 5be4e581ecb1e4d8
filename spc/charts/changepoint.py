"""When a step in the mean began, as far as the lots tell."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special, stats

from spc.charts.refusals import spread_lots
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

# Of two levels and a spread, with a lot to spare.
FEWEST_LOTS: Final = 4
# A step explains less than this share of the spread, or rounding hides the rest.
LARGEST_SHARE: Final = 1.0 - 1e-14
NODES_PER_PANEL: Final = 48
NARROWEST_PANEL: Final = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChangePoint:
    """The most likely single step in the mean of a stream.

    Attributes
    ----------
    start
        Index of the first lot at the new level.
    before, after
        Mean of the lots up to it, and from it on; unit of the lots.
    statistic
        Largest two-sample t over all starts.
    p_value
        Chance of a larger one without any step, at most: 0.050 is told as 0.050 with ten lots,
        as 0.058 with thirty and as 0.077 with a hundred.
    chances : shape (lots,)
        Of each lot being the first at the new level, given that there was one step.
    size
        Number of lots with a value.
    """

    start: int
    before: float
    after: float
    statistic: float
    p_value: float
    chances: Floats
    size: int

    def plausible(self, confidence: float = 0.9) -> NDArray[np.int64]:
        """Indices of the fewest lots that hold the start with this chance, in order."""
        order = np.argsort(-self.chances, kind="stable")
        enough = np.searchsorted(np.cumsum(self.chances[order]), confidence) + 1
        return np.sort(order[:enough])


def change_point(x: ArrayLike) -> ChangePoint:
    """Maximum-likelihood estimate of when the mean of a stream stepped.

    Parameters
    ----------
    x : shape (lots,)
        One value per lot in order of receipt, any unit; NaN for a lot without one.

    Returns
    -------
    ChangePoint
        Indices count all lots of `x`, those without a value included.

    Raises
    ------
    TooFewLots
        If fewer than four lots have a value.
    NoSpread
        If all values are equal.
    InvalidInput
        If `x` is not one-dimensional or holds an infinity.

    Notes
    -----
    Independent normal lots with one spread, and neither level known: the start that
    maximises the likelihood is the one with the largest two-sample t.  There always is
    one, so `p_value` has to say whether it means anything: it is the sum of the chances
    of each start less those of each pair of neighbours, an upper bound that is close
    where it matters.  `chances` weighs every start alike beforehand.

    References
    ----------
    Hawkins, D. M., Qiu, P. and Kang, C. W. (2003), Journal of Quality Technology 35(4),
    355-366 (the statistic).
    Worsley, K. J. (1982), Biometrika 69(2), 297-302 (the bound).
    Smith, A. F. M. (1975), Biometrika 62(2), 407-416 (the chances).
    """
    values = np.asarray(x, dtype=np.float64)
    if values.ndim != 1:
        raise InvalidInput(
            f"values have {values.ndim} dimensions, not one.",
            where="change_point",
            remedy="Give one value per lot.",
        )
    place = np.flatnonzero(~np.isnan(values))
    lots = spread_lots(values[place], where="change_point", fewest=FEWEST_LOTS)
    share = _explained(lots)
    found = int(share.argmax())
    chances = np.zeros(values.size)
    chances[place[1:]] = _chances(share)
    return ChangePoint(
        start=int(place[found + 1]),
        before=float(lots[: found + 1].mean()),
        after=float(lots[found + 1 :].mean()),
        statistic=math.sqrt((lots.size - 2) * share[found] / (1.0 - share[found])),
        p_value=_chance_of_more(math.sqrt(share[found]), lots.size),
        chances=chances,
        size=lots.size,
    )


def _explained(lots: Floats) -> Floats:
    """Share of the sum of squares that a step after each lot but the last explains."""
    deviation = lots - lots.mean()
    earlier = np.arange(1, lots.size)
    sums = np.cumsum(deviation)[:-1]
    between = sums**2 * lots.size / (earlier * (lots.size - earlier))
    share = between / float(deviation @ deviation)
    return np.asarray(np.minimum(share, LARGEST_SHARE), dtype=np.float64)


def _chances(share: Floats) -> Floats:
    size = share.size + 1
    earlier = np.arange(1, size)
    log_chance = -0.5 * (size - 2) * np.log1p(-share) - 0.5 * np.log(earlier * (size - earlier))
    chance = np.exp(log_chance - log_chance.max())
    return np.asarray(chance / chance.sum(), dtype=np.float64)


def _chance_of_more(r: float, size: int) -> float:
    """Bound on the chance that the largest correlation with a step exceeds `r`.

    Without a step the lots less their mean, scaled to length one, point anywhere on a
    sphere alike, and each step is one direction on it.
    """
    freedom = size - 2
    t = r * math.sqrt(freedom / (1.0 - r * r))
    single = 2.0 * float(stats.t.sf(t, freedom))
    earlier = np.arange(1, size - 1)
    neighbours = np.sqrt(earlier * (size - earlier - 1) / ((earlier + 1) * (size - earlier)))
    return min(1.0, (size - 1) * single - float(_both(r, neighbours, size).sum()))


def _both(r: float, correlation: Floats, size: int) -> Floats:
    """Chance that two directions so correlated are both within reach of `r`, either sign.

    By the angle between the sphere's point and the first direction, in panels that end
    where the second direction begins to be reached for certain, or not at all.
    """
    reach, apart = math.acos(r), np.arccos(correlation)[:, None]
    bend = np.clip(np.abs(reach - apart), NARROWEST_PANEL, reach)
    node, weight = np.polynomial.legendre.leggauss(NODES_PER_PANEL)
    node, weight = (node + 1.0) / 2.0, weight / 2.0
    angle = np.hstack((bend * node, bend + (reach - bend) * node))
    panel = np.hstack((bend * weight, (reach - bend) * weight))
    across = np.sin(angle) * np.sin(apart)
    along = np.cos(angle) * np.cos(apart)
    second = _beyond((r - along) / across, size) + _beyond((r + along) / across, size)
    log_scale = special.betaln(0.5, 0.5 * (size - 2))
    density = np.exp((size - 3) * np.log(np.sin(angle)) - log_scale)
    return np.asarray(2.0 * (panel * density * second).sum(axis=1), dtype=np.float64)


def _beyond(y: Floats, size: int) -> Floats:
    """Chance that one coordinate of a point on the sphere one dimension lower exceeds `y`."""
    half = 0.5 * (size - 3)
    return np.asarray(special.betainc(half, half, np.clip((1.0 - y) / 2.0, 0.0, 1.0)))
