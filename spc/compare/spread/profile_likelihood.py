"""Which variances the likelihood does not refute, while the other variances follow."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.compare.spread.nested_layout import NestedLayout
from spc.compare.spread.nested_likelihood import LikelihoodPoint
from spc.compare.spread.nested_reml import maximum

Floats = NDArray[np.float64]

# Of the deviance, where the other variances need not follow any closer.
CLOSE: Final = 1e-7
# Of the root of the deviance: moves no end of an interval by a millionth of its length.
TOLERANCE: Final = 1e-6
MOST_STEPS: Final = 100
# Of the logarithm of a variance, in one step of the search.
LONGEST_STEP: Final = 3.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Profile:
    """The likelihood as a function of one component's variance.

    Attributes
    ----------
    layout
        Of the readings.
    component
        Whose variance it is.
    lowest
        Deviance at the maximum.
    cut
        Most that the deviance may rise.
    """

    layout: NestedLayout
    component: int
    lowest: float
    cut: float

    def following(self, variances: Floats, value: float) -> tuple[Floats, LikelihoodPoint]:
        """The largest likelihood with the component at `value`."""
        start = variances.copy()
        start[self.component] = value
        return maximum(self.layout, start, held=self.component, gain=CLOSE)

    def root_rise(self, point: LikelihoodPoint) -> float:
        """Root of the rise: nearly a straight line in the logarithm of the variance."""
        return math.sqrt(max(0.0, point.deviance - self.lowest))


def profile_interval(
    layout: NestedLayout,
    best: tuple[Floats, LikelihoodPoint],
    *,
    component: int,
    error: float,
    cut: float,
) -> tuple[float, float]:
    """Variances of one component whose likelihood is not much below the largest.

    Parameters
    ----------
    layout
        Of the readings.
    best
        The largest likelihood, from `restricted_maximum`.
    component
        Whose interval is wanted.
    error
        Standard error of its variance, to begin the search with.
    cut
        Most that the deviance may rise while the other variances follow.

    Returns
    -------
    low, high
        On the layout's scale; `low` is zero where zero is not refuted.

    References
    ----------
    Venzon, D. J. and Moolgavkar, S. H. (1988), Applied Statistics 37, 87-94.
    """
    variances, highest = best
    center = float(variances[component])
    profile = _Profile(layout=layout, component=component, lowest=highest.deviance, cut=cut)
    if center == 0.0:
        return 0.0, _end(profile, variances, near=-math.inf, begin=math.log(error), outwards=1.0)
    near = math.log(center)
    reach = min(math.sqrt(cut) * error / center, LONGEST_STEP)
    high = _end(profile, variances, near=near, begin=near + reach, outwards=1.0)
    if component < variances.size - 1:
        _, at_zero = profile.following(variances, 0.0)
        if profile.root_rise(at_zero) <= math.sqrt(cut):
            return 0.0, high
    return _end(profile, variances, near=near, begin=near - reach, outwards=-1.0), high


def _end(
    profile: _Profile, variances: Floats, *, near: float, begin: float, outwards: float
) -> float:
    """Variance at one end, by Newton's search in its logarithm, kept between known bounds.

    `near` is not refuted, `outwards` the sign of the direction in which the end lies.
    """
    far, at = math.inf * outwards, begin
    for _ in range(MOST_STEPS):
        value = math.exp(at)
        variances, point = profile.following(variances, value)
        rise = profile.root_rise(point)
        over = rise - math.sqrt(profile.cut)
        if abs(over) < TOLERANCE:
            break
        near, far = (at, far) if over < 0.0 else (near, at)
        # The other variances follow, so the deviance moves with this one's derivative alone.
        slope = value * float(point.gradient[profile.component]) / (2.0 * rise) if rise else 0.0
        at = _between(at, at - over / slope if slope * outwards > 0.0 else math.nan, near, far)
    return math.exp(at)


def _between(at: float, wanted: float, near: float, far: float) -> float:
    """The point wanted, if it is not too far and lies between the bounds; else their middle."""
    low = max(min(near, far), at - LONGEST_STEP)
    high = min(max(near, far), at + LONGEST_STEP)
    return wanted if low < wanted < high else (low + high) / 2.0
