"""How much the lots of one supplier differ from each other, with its interval."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import special
from scipy.optimize import elementwise

from spc.charts.lots import Scale
from spc.compare.between_suppliers.lots_by_supplier import GroupedLots

Floats = NDArray[np.float64]

# A supplier with fewer lots is not compared for consistency: at four the interval of a standard
# deviation reaches up to 3.7 times the estimate, at five to 2.9 times.
FEWEST_FOR_CONSISTENCY: Final = 5
# Nodes over the normal error of a mean, and where that ends.
_NODES: Final = np.polynomial.legendre.leggauss(64)
NORMAL_END: Final = 8.5
# A true mean over its standard error is sought up to this multiple of the one found.
HIGHEST_SHARE: Final = 50.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spreads:
    """How much each supplier's lots differ, less what the uncertainty of their values puts in.

    Attributes
    ----------
    standard_deviation : shape (suppliers,)
        On the scale of the lots: in their unit, or of natural logarithms.
    cv : shape (suppliers,)
        Coefficient of variation; NaN where the mean is not above zero.
    standard_deviation_interval, cv_interval : shape (suppliers, 2)
        The coefficient's upper end is infinite where the mean may be zero.
    """

    standard_deviation: Floats
    cv: Floats
    standard_deviation_interval: Floats
    cv_interval: Floats


def spreads(groups: GroupedLots, *, scale: Scale, confidence: float) -> Spreads:
    """Standard deviation and coefficient of variation of each supplier, with their intervals.

    Parameters
    ----------
    groups
        Each with two lots or more.
    scale
        On ``"log"`` the coefficient of variation is that of a lognormal value.
    confidence
        Of each interval by itself.

    Returns
    -------
    Spreads

    Notes
    -----
    Exact for normal lots (on log scale: normal logarithms) if no uncertainty of the values is
    stated: chi-squared for the standard deviation, and on log scale for the coefficient, which
    rises with it; on linear scale the noncentral t of mean over spread, to six digits for
    coefficients up to 1.  A stated uncertainty is taken from the variance and from its ends as if
    it were known.

    References
    ----------
    Johnson, N. L. and Welch, B. L. (1940), Biometrika 31, 362-389 (the noncentral t).
    Vangel, M. G. (1996), The American Statistician 50, 21-26 (intervals of the coefficient).
    Limpert, E., Stahel, W. A. and Abbt, M. (2001), BioScience 51, 341-352 (the lognormal).
    """
    tail = (1.0 - confidence) / 2.0
    sigma = standard_deviations(
        groups.variance, groups.degrees, measurement=groups.measurement, confidence=confidence
    )
    cv = _lognormal(sigma) if scale == "log" else _relative(groups, tail=tail)
    return Spreads(
        standard_deviation=sigma[:, 0],
        cv=cv[:, 0],
        standard_deviation_interval=sigma[:, 1:],
        cv_interval=cv[:, 1:],
    )


def standard_deviations(
    variance: Floats, degrees: NDArray[np.generic], *, measurement: Floats, confidence: float
) -> Floats:
    """Standard deviation between lots and the ends of its interval, side by side.

    Parameters
    ----------
    variance, degrees : shape (suppliers,)
        Of the values, and its degrees of freedom.
    measurement : shape (suppliers,)
        Mean of their squared standard uncertainties.
    confidence
        Of each interval by itself.

    Returns
    -------
    array of shape (suppliers, 3)
        Zero where the uncertainty alone explains the spread.
    """
    tail = (1.0 - confidence) / 2.0
    freedom = degrees[:, None].astype(np.float64)
    found = np.sqrt(variance)[:, None]
    ends = found * np.sqrt(freedom / special.chdtri(freedom, np.array([tail, 1.0 - tail])))
    return _less_measurement(np.hstack((found, ends)), measurement)


def _less_measurement(sigma: Floats, measurement: Floats) -> Floats:
    square = np.maximum(sigma**2 - measurement[:, None], 0.0)
    return np.asarray(np.sqrt(square), dtype=np.float64)


def share_of_mean(sigma: Floats, *, mean: Floats, scale: Scale) -> Floats:
    """Coefficient of variation of standard deviations on a scale.

    Parameters
    ----------
    sigma : shape (suppliers, n)
        In unit on linear scale, of the logarithm on log scale.
    mean : shape (suppliers,)
        In unit; not looked at on log scale.
    scale
        Of `sigma`.

    Returns
    -------
    array of shape (suppliers, n)
        NaN where the mean is not above zero, infinite where it is beyond the largest number.

    References
    ----------
    Limpert, E., Stahel, W. A. & Abbt, M. (2001), BioScience 51(5), 341-352: log-normal spread.
    """
    if scale == "log":
        return _lognormal(sigma)
    above = mean[:, None] > 0.0
    share: Floats = np.divide(sigma, mean[:, None], where=above, out=np.full(sigma.shape, np.nan))
    return share


def _lognormal(sigma: Floats) -> Floats:
    """Coefficient of variation by the standard deviation of the logarithm; infinite if beyond."""
    with np.errstate(over="ignore"):
        return np.asarray(np.sqrt(np.expm1(sigma**2)), dtype=np.float64)


def _relative(groups: GroupedLots, *, tail: float) -> Floats:
    """Standard deviation over the mean and its ends; NaN where the mean is not above zero."""
    mean = groups.origin + groups.mean
    above = mean > 0.0
    cv = np.full((mean.size, 3), np.nan)
    cv[above, 0] = np.sqrt(groups.variance[above]) / mean[above]
    cv[above, 1:] = _interval(cv[above, 0], groups.lots[above], tail=tail)
    known = np.divide(groups.measurement, mean**2, where=above, out=np.zeros(mean.size))
    return _less_measurement(cv, known)


def _interval(cv: Floats, lots: NDArray[np.int64], *, tail: float) -> Floats:
    """Of a coefficient of variation; its upper end is infinite where the mean may be zero."""
    root, shape = np.sqrt(lots)[:, None], (cv.size, 2)
    t, degrees = np.broadcast_to(root / cv[:, None], shape), np.broadcast_to(root**2 - 1.0, shape)
    # The larger the true mean over spread, the likelier a larger t: upper end first.
    chance = np.broadcast_to(np.array([1.0 - tail, tail]), shape)

    def excess(center: Floats, t: Floats, degrees: Floats, chance: Floats) -> Floats:
        return _larger_t(t, degrees, center) - chance

    none = _larger_t(t, degrees, np.zeros(shape)) >= chance
    highest = NORMAL_END + HIGHEST_SHARE * t
    ends = (np.where(none, highest, 0.0), highest)
    center = np.where(none, 0.0, elementwise.find_root(excess, ends, args=(t, degrees, chance)).x)
    cv_ends: Floats = np.divide(root, center, where=~none, out=np.full(shape, np.inf))
    return cv_ends


def _larger_t(t: Floats, degrees: Floats, noncentrality: Floats) -> Floats:
    """Chance that a noncentral t exceeds a positive `t`, by quadrature over the mean's error.

    SciPy's own is NaN in places where this is needed, and slower for arrays.
    """
    node, weight = _NODES
    lowest = np.maximum(-noncentrality, -NORMAL_END)
    half = (NORMAL_END - lowest) / 2.0
    z = lowest[..., None] + half[..., None] * (node + 1.0)
    spread = (z + noncentrality[..., None]) / t[..., None]
    below = special.chdtr(degrees[..., None], degrees[..., None] * spread**2)
    density = np.exp(-0.5 * z**2) / np.sqrt(2.0 * np.pi)
    return np.asarray(half * ((density * below) @ weight), dtype=np.float64)
