"""The share of a lot outside its limits, as a sample estimates it, and the decision on it."""

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special, stats

from spc.errors import InvalidInput

Floats = NDArray[np.float64]


class Plan(Protocol):
    """What a sample is judged by."""

    @property
    def n(self) -> int:
        """Number of units measured."""

    @property
    def k(self) -> float:
        """Acceptance constant."""

    @property
    def sigma_known(self) -> bool:
        """Whether the spread within a lot is known."""

    @property
    def most_outside(self) -> float:
        """Largest estimated share outside that is accepted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """What a variables plan says of one sample.

    Attributes
    ----------
    accepted
        Whether every quality index is at least k and the estimated share outside at most
        `most_outside`.
    quality_lower, quality_upper
        Distance from the mean to each limit, in sigmas; None where there is no limit.
    outside_lower, outside_upper
        Estimated share of the lot beyond each limit; zero where there is none.
    most_outside
        Largest estimated share that is accepted.
    mean, sigma
        Of the sample; `sigma` is the known one where the plan takes it as known.
    n, k
        Of the plan.
    """

    accepted: bool
    quality_lower: float | None
    quality_upper: float | None
    outside_lower: float
    outside_upper: float
    most_outside: float
    mean: float
    sigma: float
    n: int
    k: float

    @property
    def estimated_outside(self) -> float:
        """Estimated share of the lot outside the limits, both sides together."""
        return self.outside_lower + self.outside_upper


def estimated_outside(quality: ArrayLike, *, n: int, sigma_known: bool = False) -> Floats:
    """Unbiased estimate, of smallest variance, of the share beyond a limit.

    Parameters
    ----------
    quality : any shape
        Distance from the mean to the limit, in sigmas; negative where the mean lies beyond it.
    n
        Number of values behind mean and sigma.
    sigma_known
        Whether the sigma is known, not estimated from the same values.

    Returns
    -------
    array of the shape of `quality`
        From 0 to 1.

    References
    ----------
    Lieberman, G. J. and Resnikoff, G. J. (1955), Journal of the American Statistical
    Association 50, 457-516; MIL-STD-414 (1957), Table B-5 (sigma unknown) and section D (known).
    """
    index = np.asarray(quality, dtype=np.float64)
    if sigma_known:
        return np.asarray(stats.norm.sf(index * math.sqrt(n / (n - 1.0))), dtype=np.float64)
    place = np.clip(0.5 - index * math.sqrt(n) / (2.0 * (n - 1.0)), 0.0, 1.0)
    half = (n - 2.0) / 2.0
    return np.asarray(special.betainc(half, half, place), dtype=np.float64)


def judgement(
    plan: Plan, *, mean: float, sigma: float, lower: float | None, upper: float | None
) -> Judgement:
    """A sample, given by its mean and spread, against one limit or two.

    Parameters
    ----------
    plan
        To judge it by.
    mean, sigma
        Of the sample, on the scale on which its values are normal; `sigma` above zero.
    lower, upper
        Limits on the same scale; None where there is none.

    Returns
    -------
    Judgement

    Raises
    ------
    InvalidInput
        If there is no limit, or the limits are crossed.

    References
    ----------
    MIL-STD-414 (1957), Form 1 (index against k) and Form 2 (estimated share outside).
    """
    _refuse_limits(lower, upper)
    quality_lower = None if lower is None else (mean - lower) / sigma
    quality_upper = None if upper is None else (upper - mean) / sigma
    indices = [each for each in (quality_lower, quality_upper) if each is not None]
    below, above = _outside(plan, quality_lower), _outside(plan, quality_upper)
    fits = len(indices) == 1 or below + above <= plan.most_outside
    return Judgement(
        accepted=min(indices) >= plan.k and fits,
        quality_lower=quality_lower,
        quality_upper=quality_upper,
        outside_lower=below,
        outside_upper=above,
        most_outside=plan.most_outside,
        mean=mean,
        sigma=sigma,
        n=plan.n,
        k=plan.k,
    )


def _outside(plan: Plan, quality: float | None) -> float:
    if quality is None:
        return 0.0
    return float(estimated_outside(quality, n=plan.n, sigma_known=plan.sigma_known))


def _refuse_limits(lower: float | None, upper: float | None) -> None:
    if lower is None and upper is None:
        raise InvalidInput(
            "no limit is given.", where="variables plan", remedy="Give a lower or an upper limit."
        )
    if lower is not None and upper is not None and lower >= upper:
        raise InvalidInput(
            f"the lower limit {lower:g} is not below the upper limit {upper:g}.",
            where="variables plan",
            remedy="Exchange the two limits.",
        )
