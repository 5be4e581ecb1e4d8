"""A straight line where both axes have errors, each point with its own."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from spc.errors import InvalidInput

Floats = NDArray[np.float64]

MOST_STEPS: Final = 500
SETTLED: Final = 1e-15


@dataclass(frozen=True, slots=True, kw_only=True)
class BothErrorsLine:
    """A line of largest likelihood, with what its points say of the stated errors.

    Attributes
    ----------
    intercept, slope
        Of y over x.
    intercept_error, slope_error
        Standard errors, from the stated errors alone.
    covariance
        Of intercept and slope.
    misfit
        Weighted sum of squares about the line; as chi-squared with `degrees`.
    degrees
        Points less two.
    p_value
        Chance of a larger misfit if the points lie on a line and the errors are as stated.
    """

    intercept: float
    slope: float
    intercept_error: float
    slope_error: float
    covariance: float
    misfit: float
    degrees: int
    p_value: float


def both_errors_line(
    x: ArrayLike, y: ArrayLike, *, x_error: ArrayLike, y_error: ArrayLike
) -> BothErrorsLine:
    """The straight line of largest likelihood for points with errors on both axes.

    Parameters
    ----------
    x, y : shape (points,)
        Values found, any units.
    x_error, y_error : shape (points,) or one number
        Their standard uncertainties, independent of each other; above zero.

    Returns
    -------
    BothErrorsLine

    Raises
    ------
    InvalidInput
        If fewer than three points are given, lengths differ, a value is not finite, an error not
        positive, all x are equal, or the line does not settle.

    References
    ----------
    York, D., Evensen, N. M., Martinez, M. L. and De Basabe Delgado, J. (2004), American Journal
    of Physics 72(3), 367-375.
    """
    along, up = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    try:
        errors = np.broadcast_to(x_error, along.shape), np.broadcast_to(y_error, along.shape)
    except ValueError as problem:
        raise _refused("errors and points differ in number.", "Give one a point.") from problem
    _check(along, up, errors)
    x_weight, y_weight = (1.0 / np.square(error, dtype=np.float64) for error in errors)
    slope = _settled(along, up, x_weight, y_weight)
    weight, beta, mean_x, mean_y = _adjusted(slope, along, up, x_weight, y_weight)
    intercept = mean_y - slope * mean_x
    adjusted = mean_x + beta
    center = float(weight @ adjusted / weight.sum())
    slope_variance = 1.0 / float(weight @ (adjusted - center) ** 2)
    misfit = float(weight @ (up - intercept - slope * along) ** 2)
    return BothErrorsLine(
        intercept=intercept,
        slope=slope,
        intercept_error=math.sqrt(1.0 / float(weight.sum()) + center**2 * slope_variance),
        slope_error=math.sqrt(slope_variance),
        covariance=-center * slope_variance,
        misfit=misfit,
        degrees=along.size - 2,
        p_value=float(special.chdtrc(along.size - 2, misfit)),
    )


def _settled(x: Floats, y: Floats, x_weight: Floats, y_weight: Floats) -> float:
    slope = before = float(np.polyfit(x, y, 1)[0])
    for _ in range(MOST_STEPS):
        before = slope
        weight, beta, mean_x, mean_y = _adjusted(slope, x, y, x_weight, y_weight)
        slope = float(weight * beta @ (y - mean_y)) / float(weight * beta @ (x - mean_x))
        if abs(slope - before) <= SETTLED * abs(slope):
            return slope
    if abs(slope - before) <= 1e-12 * abs(slope):
        return slope
    raise _refused(f"the line does not settle in {MOST_STEPS} steps.", "Check the errors stated.")


def _adjusted(
    slope: float, x: Floats, y: Floats, x_weight: Floats, y_weight: Floats
) -> tuple[Floats, Floats, float, float]:
    """Weight of each point, how far its true x lies from the mean, and the means."""
    weight = x_weight * y_weight / (x_weight + slope**2 * y_weight)
    mean_x, mean_y = (float(weight @ values / weight.sum()) for values in (x, y))
    beta = weight * ((x - mean_x) / y_weight + slope * (y - mean_y) / x_weight)
    return weight, beta, mean_x, mean_y


def _check(x: Floats, y: Floats, errors: tuple[Floats, Floats]) -> None:
    if x.ndim != 1 or x.shape != y.shape or x.size < 3:
        raise _refused("three points or more are needed, each with x and y.", "Give more points.")
    if not all(np.isfinite(values).all() for values in (x, y, *errors)):
        raise _refused("a value is not a finite number.", "Leave out points without a value.")
    if not all(np.all(np.asarray(error) > 0.0) for error in errors):
        raise _refused("an error is not positive.", "Give standard uncertainties above zero.")
    if np.ptp(x) == 0.0:
        raise _refused("all x are equal, so no line joins them.", "Measure more levels.")


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="line with errors on both axes", remedy=remedy)
