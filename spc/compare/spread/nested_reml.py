"""Restricted maximum likelihood of nested variances."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.compare.spread.nested_layout import NestedLayout
from spc.compare.spread.nested_likelihood import LikelihoodPoint, likelihood_point
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

MOST_STEPS: Final = 500
# A step that promises the deviance less than this moves no estimate by 1e-7 of its error.
SMALLEST_GAIN: Final = 1e-14
# Still promised after the last step: by then no estimate is off by a thousandth of its error.
UNSETTLED: Final = 1e-6
SHORTEST_STEP: Final = 1e-12
# Of the deviance, a reading.
ROUNDING: Final = 1e-12
# Variances whose estimates are correlated more closely than this leaves are not told apart.
FLATTEST: Final = 1e-10
# Of the residual, which must stay above zero, that one step may take away.
LARGEST_CUT: Final = 0.95


def restricted_maximum(layout: NestedLayout) -> tuple[Floats, LikelihoodPoint]:
    """Variances of the largest restricted likelihood.

    Parameters
    ----------
    layout
        Of the readings.

    Returns
    -------
    variances : shape (components,)
        Of the levels that can be told, outermost first, and of the residual, on the layout's
        scale.
    point : LikelihoodPoint

    Notes
    -----
    With few groups the likelihood may have two peaks, one of which has a small residual: the
    search starts from equal shares and from the mean square within groups, and the higher wins.
    """
    equal = np.full(layout.told.size, 1.0 / layout.told.size)
    within = np.append(equal[:-1], layout.mean_square)
    ends = [maximum(layout, start) for start in (equal, within)]
    return min(ends, key=lambda end: end[1].deviance)


def maximum(
    layout: NestedLayout, start: Floats, *, held: int | None = None, gain: float = SMALLEST_GAIN
) -> tuple[Floats, LikelihoodPoint]:
    """Variances, none below zero, of the largest restricted likelihood.

    Parameters
    ----------
    layout
        Of the readings.
    start : shape (components,)
        Variances to start from, on the layout's scale; the last above zero.
    held
        Component that keeps its variance.
    gain
        Promised fall of the deviance at which to stop.

    Returns
    -------
    variances : shape (components,)
    point : LikelihoodPoint

    Raises
    ------
    InvalidInput
        If the search does not settle.

    Notes
    -----
    Newton's steps with the average information, each of which leads downhill, ended where a
    variance reaches zero and shortened until the deviance falls.  A variance stays at zero while
    its derivative keeps it there.
    """
    variances, point, promised = start, likelihood_point(layout, start), np.inf
    for _ in range(MOST_STEPS):
        step = _step(variances, point, held)
        promised = -float(step @ point.gradient)
        if promised < gain:
            return variances, point
        variances, point = _shortened(layout, variances, step, point)
    if promised > UNSETTLED:
        raise InvalidInput(
            f"the likelihood has not settled after {MOST_STEPS} steps.",
            where="components",
            remedy="Leave out the level with the fewest groups, or check the values for slips.",
        )
    return variances, point


def standard_errors(variances: Floats, point: LikelihoodPoint) -> Floats:
    """Of each variance, from the average information about those that are not zero.

    Parameters
    ----------
    variances, point
        The largest likelihood, from `maximum`.

    Returns
    -------
    array of shape (components,)
        On the layout's scale; of a variance at zero, as if the others were known.
    """
    alone = np.sqrt(2.0 / np.diag(point.information))
    free = np.flatnonzero(variances > 0.0)
    correlation = point.information[np.ix_(free, free)] * np.outer(alone[free], alone[free]) / 2.0
    together = alone.copy()
    together[free] *= np.sqrt(np.diag(np.linalg.pinv(correlation, rcond=FLATTEST, hermitian=True)))
    return together


def _step(variances: Floats, point: LikelihoodPoint, held: int | None) -> Floats:
    """The step downhill of all variances that may move; zero for those that may not."""
    free = (variances > 0.0) | (point.gradient < 0.0)
    if held is not None:
        free[held] = False
    while True:
        step = np.zeros_like(variances)
        if free.any():
            step[free] = _downhill(point.information[np.ix_(free, free)], point.gradient[free])
        outwards = (variances == 0.0) & (step < 0.0)
        if not outwards.any():
            return step
        free &= ~outwards


def _downhill(information: Floats, gradient: Floats) -> Floats:
    """Newton's step; each variance in its own error first, for they differ by many powers of 10."""
    error = 1.0 / np.sqrt(np.diag(information))
    size, direction = np.linalg.eigh(information * np.outer(error, error))
    along = direction.T @ (error * gradient) / np.maximum(size, FLATTEST)
    return np.asarray(-error * (direction @ along), dtype=np.float64)


def _shortened(
    layout: NestedLayout, variances: Floats, step: Floats, point: LikelihoodPoint
) -> tuple[Floats, LikelihoodPoint]:
    """The step's end, or a point before it, where the deviance is no higher but for rounding."""
    shrinking = step < 0.0
    room = np.full(step.size, np.inf)
    room[shrinking] = variances[shrinking] / -step[shrinking]
    room[-1] *= LARGEST_CUT
    share = min(1.0, float(room.min()))
    while True:
        moved = variances + share * step
        moved[:-1][(room <= share)[:-1]] = 0.0
        following = likelihood_point(layout, moved)
        if following.deviance <= point.deviance + ROUNDING * layout.size or share < SHORTEST_STEP:
            return moved, following
        share /= 2.0
