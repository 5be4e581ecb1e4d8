"""Distributions of positive or signed lot values, fitted by maximum likelihood to open readings."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, stats

from spc.errors import InvalidInput

Floats = NDArray[np.float64]
Family = Literal["normal", "lognormal", "Weibull", "gamma"]

# Relative step of the numerical second derivatives of a log-likelihood.
STEP: Final = 1e-4


_DISTRIBUTIONS: Final = {
    "normal": stats.norm,
    "lognormal": stats.lognorm,
    "Weibull": stats.weibull_min,
    "gamma": stats.gamma,
}
FAMILIES: Final = tuple(_DISTRIBUTIONS)


def _arguments(family: Family, at: Floats) -> tuple[float, ...]:
    """SciPy's arguments at two parameters, of which those that must be positive are logarithms."""
    place, spread = float(at[0]), float(np.exp(at[1]))
    if family == "normal":
        return place, spread
    return spread, 0.0, float(np.exp(place))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fit:
    """A distribution fitted by maximum likelihood.

    Attributes
    ----------
    family
        Its name.
    parameters : shape (2,)
        As the family is searched: location or log scale, and log spread or log shape.
    covariance : shape (2, 2)
        Of the parameters, for many lots, from the curvature of the likelihood.
    log_likelihood
        At its largest; of two families, the one with the larger fits the same values better.
    """

    family: Family
    parameters: Floats
    covariance: Floats
    log_likelihood: float

    def quantiles(self, share: Floats) -> Floats:
        """Values that a share of lots stays below; shape of `share`."""
        return self.quantiles_at(self.parameters, share)

    def quantiles_at(self, parameters: Floats, share: Floats) -> Floats:
        """The same at other parameters."""
        arguments = _arguments(self.family, parameters)
        found = _DISTRIBUTIONS[self.family].ppf(share, *arguments)
        return np.asarray(found, dtype=np.float64)

    def shares_beyond(self, lower: float, upper: float) -> tuple[float, float]:
        """Shares of lots below and above two limits."""
        arguments = _arguments(self.family, self.parameters)
        fitted = _DISTRIBUTIONS[self.family]
        return float(fitted.cdf(lower, *arguments)), float(fitted.sf(upper, *arguments))


def fit(low: Floats, high: Floats, *, family: Family) -> Fit:
    """The member of a family under which exact and open readings are most likely.

    Parameters
    ----------
    low, high : shape (lots,)
        Ends of each reading: equal where it is exact, ``-inf`` (or 0) and the quantification
        limit where it lies below that, the range and ``inf`` where it lies above.
    family
        ``"normal"``, ``"lognormal"``, ``"Weibull"`` or ``"gamma"``; the last three start at 0.

    Returns
    -------
    Fit

    Raises
    ------
    InvalidInput
        If the readings let the likelihood rise for ever, as when hardly any is exact.

    References
    ----------
    Lawless, J. F. (2003), Statistical Models and Methods for Lifetime Data, chapters 2 and 5.
    """

    def loss(at: Floats) -> float:
        with np.errstate(all="ignore"):
            value = -_log_likelihood(family, at, low, high)
        return value if math.isfinite(value) else 1e300

    found = optimize.minimize(
        loss,
        _start(low, high, family),
        method="Nelder-Mead",
        options={"xatol": 1e-8, "fatol": 1e-10, "maxiter": 2000},
    )
    at = np.asarray(found.x, dtype=np.float64)
    curvature = _curvature(loss, at)
    if (low == high).sum() < 2 or not np.all(np.linalg.eigvalsh(curvature) > 0.0):
        raise InvalidInput(
            f"{int((low == high).sum())} exact readings among {low.size} do not settle a"
            f" {family} distribution.",
            where="capability",
            remedy="Use a more sensitive method, or wait for more lots.",
        )
    return Fit(
        family=family,
        parameters=at,
        covariance=np.asarray(np.linalg.inv(curvature), dtype=np.float64),
        log_likelihood=-float(found.fun),
    )


def _log_likelihood(family: Family, at: Floats, low: Floats, high: Floats) -> float:
    fitted, arguments = _DISTRIBUTIONS[family], _arguments(family, at)
    exact = low == high
    density = float(fitted.logpdf(low[exact], *arguments).sum())
    if exact.all():
        return density
    start, end = low[~exact], high[~exact]
    below = fitted.cdf(start, *arguments)
    inside = fitted.cdf(end, *arguments) - below
    above = fitted.sf(start, *arguments) - fitted.sf(end, *arguments)
    # Whichever tail is the smaller one keeps the digits of a difference.
    return density + float(np.log(np.where(below > 0.5, above, inside)).sum())


def _start(low: Floats, high: Floats, family: Family) -> Floats:
    """Moments of the finite ends, as good as any to begin the search at."""
    ends = np.where(np.isfinite(high), high, low)
    if family == "normal":
        return np.array([ends.mean(), math.log(ends.std() or 1.0)])
    logs = np.log(ends)
    spread = max(float(logs.std()), 1e-3)
    shape = {"lognormal": spread, "Weibull": 1.2 / spread, "gamma": 1.0 / spread**2}[family]
    scale = -math.log(shape) if family == "gamma" else 0.0
    return np.array([logs.mean() + scale, math.log(shape)])


def _curvature(loss: Callable[[Floats], float], at: Floats) -> Floats:
    """Second derivatives by central differences."""
    steps = np.diag(STEP * (1.0 + np.abs(at)))
    result = np.empty((2, 2))
    for i, one in enumerate(steps):
        for j, other in enumerate(steps):
            mixed = loss(at + one + other) - loss(at + one - other)
            mixed += loss(at - one - other) - loss(at - one + other)
            result[i, j] = mixed / (4.0 * one[i] * other[j])
    return result
