"""How a method's standard deviation depends on what it measures."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.charts.refusals import refuse_unfinished
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

FEWEST_LEVELS: Final = 3
MOST_ROUNDS: Final = 100
SETTLED: Final = 1e-10


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LevelRelations:
    """A standard deviation in three ways as a function of the level m.

    Attributes
    ----------
    proportional
        b of s = b m.
    intercept, slope
        a and b of s = a + b m.
    coefficient, exponent
        C and d of s = C m^d.
    fitted : shape (3, levels)
        Standard deviation at each level by the three, in this order.
    misfit : shape (3,)
        Root mean square of (s - fitted) / fitted.
    """

    proportional: float
    intercept: float
    slope: float
    coefficient: float
    exponent: float
    fitted: Floats
    misfit: Floats


def level_relations(mean: ArrayLike, sd: ArrayLike) -> LevelRelations:
    """Three relations between a method's standard deviation and the level.

    Parameters
    ----------
    mean : shape (levels,)
        General mean of each level, in one unit; positive, at least three, not all equal.
    sd : shape (levels,)
        Repeatability or reproducibility standard deviation; positive.

    Returns
    -------
    LevelRelations

    Raises
    ------
    InvalidInput
        If lengths differ, there are fewer than three levels, one is not positive or not finite,
        all means are equal, or the straight line meets zero within the levels.

    Notes
    -----
    The error of a standard deviation is proportional to it.  So the first is the mean of s / m,
    the second a line weighted by 1 / fitted², fitted again until it settles, and the third a line
    through the logarithms.  Which to use is a matter of judgement: the simplest that fits, and
    the third only with an exponent of at most one.

    References
    ----------
    ISO 5725-2:1994, 7.5.
    """
    m, s = _checked(mean, sd)
    proportional = float((s / m).mean())
    intercept, slope = _line(m, s)
    exponent, log_coefficient = np.polyfit(np.log(m), np.log(s), 1)
    coefficient = float(np.exp(log_coefficient))
    fitted = np.stack((proportional * m, intercept + slope * m, coefficient * m**exponent))
    return LevelRelations(
        proportional=proportional,
        intercept=intercept,
        slope=slope,
        coefficient=coefficient,
        exponent=float(exponent),
        fitted=fitted,
        misfit=np.sqrt(np.square(s / fitted - 1.0).mean(axis=1)),
    )


def _checked(mean: ArrayLike, sd: ArrayLike) -> tuple[Floats, Floats]:
    m, s = np.asarray(mean, dtype=np.float64), np.asarray(sd, dtype=np.float64)
    if m.ndim != 1 or m.shape != s.shape or m.size < FEWEST_LEVELS:
        raise _refused(
            f"{m.size} levels and {s.size} standard deviations show no relation.",
            f"Give one standard deviation a level, of at least {FEWEST_LEVELS} levels.",
        )
    for values in (m, s):
        refuse_unfinished(values, where="level relations")
    if min(m.min(), s.min()) <= 0.0 or np.ptp(m) == 0.0:
        raise _refused(
            "a level or a standard deviation is not above zero, or all levels are equal.",
            "Leave out levels without a spread, and measure at different ones.",
        )
    return m, s


def _line(m: Floats, s: Floats) -> tuple[float, float]:
    """Intercept and slope, weighted by the reciprocal of what they say themselves, squared."""
    fitted = s
    for _ in range(MOST_ROUNDS):
        before = fitted
        # polyfit squares the weights it is given.
        slope, intercept = np.polyfit(m, s, 1, w=1.0 / before)
        fitted = intercept + slope * m
        if fitted.min() <= 0.0:
            break
        if np.abs(fitted / before - 1.0).max() < SETTLED:
            return float(intercept), float(slope)
    raise _refused(
        "no straight line of positive standard deviations settles on these levels.",
        "Leave out the level that stands apart, or see whether the levels share one method.",
    )


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="level relations", remedy=remedy)
