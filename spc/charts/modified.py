"""Limits for lot means that may wander, while nearly all of each lot meets its specification."""

import math
from dataclasses import dataclass
from typing import Protocol

from scipy import special

from spc.charts.refusals import refuse_outside
from spc.errors import InvalidInput


class WithinLot(Protocol):
    """The spread within a lot, and how many lots it rests on."""

    @property
    def within_sigma(self) -> float:
        """Standard deviation of one sample within its lot."""

    @property
    def size(self) -> int:
        """Number of lots that it rests on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AcceptanceLimits:
    """Limits for the mean of a lot, drawn from the specification and not from earlier lots.

    Attributes
    ----------
    lower, upper
        Acceptance control limits for the mean found; infinite where the specification is
        open.
    acceptable_lower, acceptable_upper
        True means at which exactly `share` of the lot lies beyond the specification.
    sigma
        Standard deviation of one sample within its lot.
    sigma_mean
        Standard deviation of the mean found, about the true one.
    share
        Largest share of a lot that may lie beyond one specification limit.
    risk
        Chance that a lot whose true mean is just acceptable is found beyond the limit.
    size
        Number of lots that `sigma` rests on.
    """

    lower: float
    upper: float
    acceptable_lower: float
    acceptable_upper: float
    sigma: float
    sigma_mean: float
    share: float
    risk: float
    size: int

    def pass_probability(self, level: float) -> float:
        """Chance that a lot whose true mean is `level` is found between the limits."""
        above = special.ndtr((self.lower - level) / self.sigma_mean)
        below = special.ndtr((level - self.upper) / self.sigma_mean)
        return float(1.0 - above - below)


def modified_limits(
    within: WithinLot,
    *,
    samples: int,
    lower: float | None = None,
    upper: float | None = None,
    share: float = 0.01,
    risk: float = 0.00135,
) -> AcceptanceLimits:
    """Acceptance control limits for the means of lots.

    Parameters
    ----------
    within
        Spread within a lot and the number of lots it rests on: a `GroupLimits`, a
        `BetweenWithin`, or anything with `within_sigma` and `size`.
    samples
        Number of samples that the mean of a lot is found from.
    lower, upper
        Specification limits for single samples, in the unit of `within_sigma`; one may be
        left out.
    share
        Largest share of a lot that may lie beyond a specification limit.
    risk
        Chance of a false signal on a lot whose true mean is just acceptable.

    Returns
    -------
    AcceptanceLimits
        In the unit of `within_sigma`.

    Raises
    ------
    InvalidInput
        If neither specification limit is given, one is not finite, `samples` is below one,
        sigma is not positive, `share` or `risk` is not between 0 and a half, or the spread
        is too wide for any mean to be acceptable.

    Notes
    -----
    A mean is acceptable while it stays z(share) sigmas inside the specification; the limit
    lies z(risk) standard deviations of the mean outside that, so that an acceptable lot is
    seldom stopped.  With more than about three samples it lies inside the specification,
    with fewer it may lie outside.  Each side is judged on its own.  Limits say nothing of
    whether lots are steady, only whether they are good enough, and take the spread within
    lots as known and normal.

    References
    ----------
    Freund, R. A. (1957), Industrial Quality Control 14(4), 13-19.
    Hill, D. (1956), Applied Statistics 5, 12-19.
    ISO 7870-3, acceptance control charts.
    """
    refuse_outside(within.within_sigma, 0.0, math.inf, name="sigma", where="modified_limits")
    refuse_outside(samples, 0, math.inf, name="number of samples", where="modified_limits")
    refuse_outside(share, 0.0, 0.5, name="share", where="modified_limits")
    refuse_outside(risk, 0.0, 0.5, name="risk", where="modified_limits")
    low, high = _specification(lower, upper)
    inside = -float(special.ndtri(share)) * within.within_sigma
    sigma_mean = within.within_sigma / math.sqrt(samples)
    outside = -float(special.ndtri(risk)) * sigma_mean
    if low + inside > high - inside:
        raise InvalidInput(
            f"with a sigma of {within.within_sigma:g} no mean between {low:g} and {high:g} keeps "
            f"all but {share:g} of a lot on the right side of both.",
            where="modified_limits",
            remedy="Widen the specification or allow a larger share.",
        )
    return AcceptanceLimits(
        lower=low + inside - outside,
        upper=high - inside + outside,
        acceptable_lower=low + inside,
        acceptable_upper=high - inside,
        sigma=within.within_sigma,
        sigma_mean=sigma_mean,
        share=share,
        risk=risk,
        size=within.size,
    )


def _specification(lower: float | None, upper: float | None) -> tuple[float, float]:
    given = [limit for limit in (lower, upper) if limit is not None]
    if not given or not all(map(math.isfinite, given)):
        raise InvalidInput(
            f"a specification from {lower} to {upper} sets no limit.",
            where="modified_limits",
            remedy="Give a lower or an upper specification limit, or both.",
        )
    return (-math.inf if lower is None else lower, math.inf if upper is None else upper)
