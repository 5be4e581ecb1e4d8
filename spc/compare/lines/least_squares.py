"""A polynomial through readings by least squares, ordinary or weighted, and whether it fits."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from spc.errors import InvalidInput

Floats = NDArray[np.float64]

HIGHEST_DEGREE: Final = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class LackOfFit:
    """Scatter about the line beside that of repeated readings.

    Attributes
    ----------
    statistic
        F: mean square of the levels' means about the line over that of repeats.
    degrees_line, degrees_repeats
        Degrees of freedom of the two.
    p_value
        Chance of a larger F if the line is the right one.
    """

    statistic: float
    degrees_line: int
    degrees_repeats: int
    p_value: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FittedPolynomial:
    """A line or curve with what it rests on.

    Attributes
    ----------
    coefficients : shape (terms,)
        From the lowest power up; without the constant if the line goes through zero.
    standard_errors : shape (terms,)
        Of the coefficients.
    covariance : shape (terms, terms)
        Of the coefficients.
    powers : shape (terms,)
        Power of x that each coefficient belongs to.
    residual_sd
        Standard deviation about the line; of a reading of weight 1 where readings are weighted.
    degrees
        Degrees of freedom of `residual_sd`.
    r_squared
        Share of the squares that the line explains: about the mean with a constant, about zero
        without one.
    f_statistic, p_value
        Of the line against no line, and the chance of a larger F without one.
    lack_of_fit
        None without enough repeated readings.
    readings
        Number of readings.
    """

    coefficients: Floats
    standard_errors: Floats
    covariance: Floats
    powers: NDArray[np.int64]
    residual_sd: float
    degrees: int
    r_squared: float
    f_statistic: float
    p_value: float
    lack_of_fit: LackOfFit | None
    readings: int

    def at(self, x: ArrayLike) -> Floats:
        """The line at these values of x, in the unit of y."""
        points = np.asarray(x, dtype=np.float64)[..., None] ** self.powers
        return np.asarray(points @ self.coefficients, dtype=np.float64)

    def standard_error_at(self, x: ArrayLike) -> Floats:
        """Standard error of the line at these values of x, without the scatter of readings."""
        points = np.asarray(x, dtype=np.float64)[..., None] ** self.powers
        variance = np.einsum("...i,ij,...j->...", points, self.covariance, points)
        return np.asarray(np.sqrt(np.maximum(variance, 0.0)), dtype=np.float64)


def least_squares(
    x: ArrayLike,
    y: ArrayLike,
    *,
    degree: int = 1,
    through_zero: bool = False,
    weights: ArrayLike | None = None,
) -> FittedPolynomial:
    """The polynomial of least (weighted) squares in y.

    Parameters
    ----------
    x, y : shape (readings,)
        Known without error, and read; any units.
    degree
        1 for a straight line, up to 5.
    through_zero
        Whether the line goes through zero, and has no constant.
    weights : shape (readings,)
        Of the readings: inverse variances up to one factor; all alike if left out.

    Returns
    -------
    FittedPolynomial

    Raises
    ------
    InvalidInput
        If x, y and weights are not of one length and finite, a weight is not positive, the
        degree is none, or there are not more readings (and levels of x) than it needs.

    Notes
    -----
    Solved by QR with each power scaled to length one.  The test for lack of fit needs readings
    at the same x; it compares the levels' weighted means with the line.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, sections 4.4.3 and 4.4.4.6 (lack of fit).
    Draper, N. R. and Smith, H. (1998), Applied Regression Analysis, 3rd edition.
    """
    level, reading, weight = _checked(x, y, weights)
    if not 1 <= degree <= HIGHEST_DEGREE:
        raise _refused(f"a degree of {degree} fits no line here.", "Use 1 to 5.")
    powers = np.arange(1 if through_zero else 0, degree + 1)
    distinct = np.unique(level[level != 0.0] if through_zero else level).size
    if reading.size <= powers.size or distinct < powers.size:
        raise _refused(
            f"{reading.size} readings at {distinct} levels do not fix {powers.size} coefficients.",
            "Measure more levels, or fit a lower degree.",
        )
    root = np.sqrt(weight)
    design = level[:, None] ** powers * root[:, None]
    length = np.linalg.norm(design, axis=0)
    q, r = np.linalg.qr(design / length)
    found = np.linalg.solve(r, q.T @ (root * reading)) / length
    off = reading - level[:, None] ** powers @ found
    squares, degrees = float(weight @ off**2), reading.size - powers.size
    inverse = np.linalg.inv(r)
    covariance = inverse @ inverse.T / np.outer(length, length) * (squares / degrees)
    center = 0.0 if through_zero else float(weight @ reading / weight.sum())
    total = float(weight @ (reading - center) ** 2)
    terms = powers.size - (0 if through_zero else 1)
    with np.errstate(divide="ignore", invalid="ignore"):
        statistic = float(np.float64((total - squares) / terms) / np.float64(squares / degrees))
    return FittedPolynomial(
        coefficients=found,
        standard_errors=np.sqrt(np.diag(covariance)),
        covariance=covariance,
        powers=powers,
        residual_sd=math.sqrt(squares / degrees),
        degrees=degrees,
        r_squared=1.0 - squares / total if total > 0.0 else math.nan,
        f_statistic=statistic,
        p_value=float(special.fdtrc(terms, degrees, statistic)),
        lack_of_fit=_lack_of_fit(level, reading, weight, squares, powers.size),
        readings=reading.size,
    )


def _lack_of_fit(
    x: Floats, y: Floats, weight: Floats, squares: float, terms: int
) -> LackOfFit | None:
    levels, which = np.unique(x, return_inverse=True)
    mean = np.bincount(which, weight * y) / np.bincount(which, weight)
    repeats = float(weight @ (y - mean[which]) ** 2)
    of_line, of_repeats = levels.size - terms, y.size - levels.size
    if of_line < 1 or of_repeats < 1 or repeats == 0.0:
        return None
    statistic = max(squares - repeats, 0.0) / of_line / (repeats / of_repeats)
    return LackOfFit(
        statistic=statistic,
        degrees_line=of_line,
        degrees_repeats=of_repeats,
        p_value=float(special.fdtrc(of_line, of_repeats, statistic)),
    )


def _checked(
    x: ArrayLike, y: ArrayLike, weights: ArrayLike | None
) -> tuple[Floats, Floats, Floats]:
    level, reading = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    weight = np.ones_like(level) if weights is None else np.asarray(weights, dtype=np.float64)
    if level.ndim != 1 or not level.shape == reading.shape == weight.shape:
        raise _refused("x, y and weights are not lists of one length.", "Give one of each.")
    if not all(np.isfinite(values).all() for values in (level, reading, weight)):
        raise _refused("a value is not a finite number.", "Leave out readings without a value.")
    if not np.all(weight > 0.0):
        raise _refused("a weight is not positive.", "Give inverse variances.")
    return level, reading, weight


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="least squares", remedy=remedy)
