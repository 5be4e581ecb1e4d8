"""Which means and standard deviations keep the odds: a convex set, and its tangents.

The true mean of a blend is normal about its estimate m with standard deviation s, and lies inside
its limits with a chance of Phi((U - m) / s) - Phi((L - m) / s).  The chance is at least p where

    a = (m - L) / s,   b = (U - m) / s,   Phi(a) + Phi(b) >= 1 + p.

For p >= 1/2 neither Phi can be below 1/2, so a and b are not negative; there Phi is concave, and
the set of such pairs (a, b) is convex.  The pair (m, s) follows from it by

    s = (U - L) / (a + b),   m = L + a s,

a projective map, which takes convex sets to convex sets.  So the pairs (m, s) that keep the odds
form a convex set: s <= h(m) with a concave h, the minimum of its tangents.  (Below an even chance
the mean may lie outside and be saved by a wide spread, so that less spread would not do.)

The standard deviation of a blend is a Euclidean norm of its shares: every lot adds its share times
its own uncertainty, every method adds what its lots share.  A norm is convex, and is the maximum of
*its* tangents.  Both together: the recipes that keep the odds are a convex set, cut out by linear
inequalities, of which a handful near the optimum is all that a solver needs.  With one limit h is
linear, and the set a second-order cone.  On dry basis m and s are ratios to the dry matter;
multiplied by it the inequalities are linear again.
"""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import special

Floats = NDArray[np.float64]

# Halvings of the way to the boundary: to the last bit.
HALVINGS: Final = 60
# A chance that is 1 but for rounding, and a distance in deviations beyond which it is.
CERTAIN: Final = 1.0 - 2.0**-53
FARTHEST: Final = 30.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tangents:
    """Lines that no admissible pair of mean and standard deviation lies beyond.

    Attributes
    ----------
    width, slope, intercept : shape (tangents,)
        `width` times the deviation is at most `intercept` plus `slope` times the mean.
    """

    width: Floats
    slope: Floats
    intercept: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Boundary:
    """How far the largest admissible deviation moves, at one mean.

    Attributes
    ----------
    per_odds, per_lower, per_upper
        Per unit more of the odds, of the lower limit and of the upper limit.
    """

    per_odds: float
    per_lower: float
    per_upper: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Admissible:
    """The pairs of mean and standard deviation that keep the odds of lying inside limits.

    Attributes
    ----------
    lower, upper
        Limits; minus or plus infinity where there is none.
    odds
        At least 1/2 and below 1.
    """

    lower: float
    upper: float
    odds: float

    @property
    def widest(self) -> float:
        """The largest deviation that can keep the odds; infinite with one limit."""
        if math.isinf(self.lower) or math.isinf(self.upper):
            return math.inf
        return (self.upper - self.lower) / 2.0 / float(special.ndtri((1.0 + self.odds) / 2.0))

    def chance(self, mean: float, deviation: float) -> float:
        """Chance that the true mean lies inside the limits."""
        return chance_inside(mean, deviation, lower=self.lower, upper=self.upper)

    def tangents(self, count: int) -> Tangents:
        """Lines along the whole boundary.

        Parameters
        ----------
        count
            How many besides the one or two that keep the odds of one limit alone.

        Returns
        -------
        Tangents
            With one limit that one line is the boundary, and no other is given.
        """
        reach = float(special.ndtri(self.odds))
        sides = [(self.upper, -1.0), (self.lower, 1.0)]
        ends = [(reach, side, -side * limit) for limit, side in sides if math.isfinite(limit)]
        width, slope, intercept = np.array(ends).T
        if len(ends) == 1 or count == 0:
            return Tangents(width=width, slope=slope, intercept=intercept)
        split = (np.arange(count) + 0.5) / count
        between = self._touching(special.ndtri(self.odds + (1.0 - self.odds) * split))
        return Tangents(
            width=np.append(width, between.width),
            slope=np.append(slope, between.slope),
            intercept=np.append(intercept, between.intercept),
        )

    def tangent_near(self, mean: float, deviation: float) -> Tangents:
        """The line that cuts off a pair which does not keep the odds.

        Parameters
        ----------
        mean, deviation
            The pair.

        Returns
        -------
        Tangents
            One line.  It touches between the pair and the middle of the window without spread.
        """
        if math.isinf(self.lower) or math.isinf(self.upper):
            return self.tangents(0)
        middle = (self.lower + self.upper) / 2.0
        inside, outside = 0.0, 1.0
        for _ in range(HALVINGS):
            step = (inside + outside) / 2.0
            if self.chance(middle + step * (mean - middle), step * deviation) >= self.odds:
                inside = step
            else:
                outside = step
        below = (middle + inside * (mean - middle) - self.lower) / (inside * deviation)
        return self._touching(np.array([below]))

    def boundary(self, mean: float, deviation: float) -> Boundary:
        """What moves the boundary at a pair that lies on it.

        Parameters
        ----------
        mean, deviation
            The pair; the deviation above 0.

        Returns
        -------
        Boundary
        """
        below, above = (mean - self.lower) / deviation, (self.upper - mean) / deviation
        left, right = _density(below), _density(above)
        loss = _times(below, left) + _times(above, right)
        return Boundary(per_odds=-deviation / loss, per_lower=-left / loss, per_upper=right / loss)

    def _touching(self, below: Floats) -> Tangents:
        """Lines that touch where the lower limit is `below` deviations away from the mean."""
        # Far from a limit the line is that of the other limit alone: its chance is 1 by then.
        below = np.clip(below, special.ndtri(self.odds), FARTHEST)
        above = special.ndtri(np.minimum(1.0 + self.odds - special.ndtr(below), CERTAIN))
        deviation = (self.upper - self.lower) / (below + above)
        mean = self.lower + below * deviation
        left, right = np.exp(-(below**2) / 2.0), np.exp(-(above**2) / 2.0)
        slope = (left - right) / (below * left + above * right)
        return Tangents(width=np.ones_like(slope), slope=slope, intercept=deviation - slope * mean)


def chance_inside(mean: float, deviation: float, *, lower: float, upper: float) -> float:
    """Chance that a normal value lies inside limits; without spread, whether its mean does.

    Parameters
    ----------
    mean, deviation
        Of the value.
    lower, upper
        Limits, infinite where there is none.

    Returns
    -------
    float
    """
    if deviation == 0.0:
        return float(lower <= mean <= upper)
    above, below = (upper - mean) / deviation, (lower - mean) / deviation
    # By the tails on the nearer side, so that small chances keep their digits.
    if below > 0.0:
        above, below = -below, -above
    return float(special.ndtr(above) - special.ndtr(below))


def _density(z: float) -> float:
    return math.exp(-z * z / 2.0) / math.sqrt(2.0 * math.pi)


def _times(z: float, density: float) -> float:
    """Their product, which is 0 where the limit is infinitely far."""
    return 0.0 if density == 0.0 else z * density
