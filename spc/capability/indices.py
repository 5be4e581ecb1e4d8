"""Capability and performance indices of normal (or, on log scale, lognormal) lot values."""

import math
from dataclasses import dataclass
from typing import Final, Literal

from numpy.typing import ArrayLike
from scipy import stats

from spc.capability.intervals import Interval, lower_bound, nearest_interval, spread_interval
from spc.capability.limits import SIGMAS, Limits, Scale, limits_on_scale, on_scale
from spc.charts.refusals import refuse_outside, spread_lots
from spc.errors import InvalidInput

# A mean moving range of n independent values has the spread of a standard deviation with about
# 1 / (2 * 0.8264) degrees of freedom a difference; taken for any sigma that is handed in.
WITHIN_EFFICIENCY: Final = 0.605


@dataclass(frozen=True, slots=True, kw_only=True)
class Intervals:
    """Two-sided confidence intervals of the indices; None where there is no index.

    Attributes
    ----------
    cp, cpk, pp, ppk, cpm
        Of the index of that name.
    """

    cp: Interval | None
    cpk: Interval
    pp: Interval | None
    ppk: Interval
    cpm: Interval | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Capability:
    """How well a stream of lots fits between its limits.

    Attributes
    ----------
    cp, cpk
        By the spread within (`sigma_within`): what the process could do.  `cp` is None with one
        limit only.
    pp, ppk
        By the overall standard deviation: what it did.
    cpm
        By the spread about the target; None without a target or with one limit only.
    intervals
        At `confidence`, two-sided.
    ppk_at_least
        Lower bound of Ppk at `confidence`, one-sided: exact with one limit, safe with two.
    expected_outside, expected_below, expected_above
        Share of lots outside the limits, by the normal distribution of mean and overall sigma.
    outside_at_most
        Upper bound of `expected_outside` at `confidence`, one-sided: exact with one limit, safe
        with two.
    mean, sigma, sigma_within
        On `scale`.
    within_basis
        ``"given"``, or ``"overall"`` where no spread within was given, so that cp and cpk equal
        pp and ppk.
    size
        Number of lots.
    confidence
        Of the intervals and bounds.
    scale
        Linear, or log: then limits and values are compared in natural logarithms.
    """

    cp: float | None
    cpk: float
    pp: float | None
    ppk: float
    cpm: float | None
    intervals: Intervals
    ppk_at_least: float
    expected_below: float
    expected_above: float
    outside_at_most: float
    mean: float
    sigma: float
    sigma_within: float
    within_basis: Literal["given", "overall"]
    size: int
    confidence: float
    scale: Scale

    @property
    def expected_outside(self) -> float:
        """Share of lots outside the limits, both sides together."""
        return self.expected_below + self.expected_above


def indices(  # noqa: PLR0913 - limits, target and basis are one specification
    x: ArrayLike,
    *,
    lower: float | None = None,
    upper: float | None = None,
    target: float | None = None,
    sigma_within: float | None = None,
    confidence: float = 0.95,
    scale: Scale = "linear",
) -> Capability:
    """Cp, Cpk, Pp, Ppk and Cpm with their intervals, and the share expected outside.

    Parameters
    ----------
    x : shape (lots,)
        One value per lot, any unit; finite.
    lower, upper, target
        In the unit of `x`; None where there is none.
    sigma_within
        Spread within, for example from moving ranges, on `scale` (in logarithms on log scale);
        without it the overall standard deviation serves for all indices.
    confidence
        Of every interval and bound.
    scale
        ``"log"``: values, limits and target are taken in natural logarithms.

    Returns
    -------
    Capability

    Raises
    ------
    TooFewLots
        If there are fewer than two lots.
    NoSpread
        If all values are equal.
    NotPositive
        If a value is zero or less on log scale.
    InvalidInput
        If there is no limit, the limits are crossed, a value is not finite, or `sigma_within`,
        `confidence` or `scale` is not possible.

    Notes
    -----
    For independent normal values of a steady stream: `gate` withholds the rest.  Intervals of Pp
    are exact (chi-squared), those of Ppk and Cpk by Bissell, that of Cpm by Boyles.  A given
    sigma is credited with 0.605 (n - 1) degrees of freedom, those of a mean moving range.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, section 6.1.6; ISO 22514-2.
    Boyles, R. A. (1991), Journal of Quality Technology 23, 17-26, for Cpm.
    """
    refuse_outside(confidence, 0.0, 1.0, name="confidence", where="capability")
    values = spread_lots(on_scale(x, scale), where="capability")
    limits = limits_on_scale(lower, upper, scale)
    mean, sigma = float(values.mean()), float(values.std(ddof=1))
    within, degrees = _within(sigma_within, sigma, values.size)
    cp, pp = limits.spread(within), limits.spread(sigma)
    cpk, ppk = limits.nearest(mean, within), limits.nearest(mean, sigma)
    about = _about_target(mean, sigma, None if target is None else float(on_scale(target, scale)))
    cpm = None if about is None else limits.spread(math.hypot(sigma, about * sigma))
    n = values.size
    intervals = Intervals(
        cp=_spread_interval(cp, degrees, confidence),
        cpk=nearest_interval(cpk, n=n, degrees=degrees, confidence=confidence),
        pp=_spread_interval(pp, n - 1.0, confidence),
        ppk=nearest_interval(ppk, n=n, degrees=n - 1.0, confidence=confidence),
        cpm=_spread_interval(cpm, _boyles(n, about or 0.0), confidence),
    )
    return Capability(
        cp=cp,
        cpk=cpk,
        pp=pp,
        ppk=ppk,
        cpm=cpm,
        intervals=intervals,
        ppk_at_least=lower_bound(ppk, n=n, confidence=confidence),
        expected_below=float(stats.norm.cdf((limits.lower - mean) / sigma)),
        expected_above=float(stats.norm.sf((limits.upper - mean) / sigma)),
        outside_at_most=_outside_at_most(limits, mean, sigma, n=n, confidence=confidence),
        mean=mean,
        sigma=sigma,
        sigma_within=within,
        within_basis="overall" if sigma_within is None else "given",
        size=n,
        confidence=confidence,
        scale=scale,
    )


def _outside_at_most(
    limits: Limits, mean: float, sigma: float, *, n: int, confidence: float
) -> float:
    """Each limit's exact bound; two limits share the doubt between them."""
    distances = [mean - limits.lower, limits.upper - mean]
    indices_found = [each / (SIGMAS * sigma) for each in distances if math.isfinite(each)]
    each_confidence = 1.0 - (1.0 - confidence) / len(indices_found)
    bounds = [lower_bound(each, n=n, confidence=each_confidence) for each in indices_found]
    return min(1.0, sum(float(stats.norm.sf(SIGMAS * bound)) for bound in bounds))


def _about_target(mean: float, sigma: float, target: float | None) -> float | None:
    return None if target is None else (mean - target) / sigma


def _boyles(n: int, off: float) -> float:
    """Degrees of freedom of the mean square about a target that the mean misses by `off` sigmas."""
    return n * (1.0 + off**2) ** 2 / (1.0 + 2.0 * off**2)


def _spread_interval(value: float | None, degrees: float, confidence: float) -> Interval | None:
    if value is None:
        return None
    return spread_interval(value, degrees=degrees, confidence=confidence)


def _within(given: float | None, sigma: float, n: int) -> tuple[float, float]:
    if given is None:
        return sigma, n - 1.0
    if not 0.0 < given < math.inf:
        raise InvalidInput(
            f"a spread within of {given:g} is not possible.",
            where="capability",
            remedy="Give a standard deviation above zero, or leave it out.",
        )
    return given, WITHIN_EFFICIENCY * (n - 1)
