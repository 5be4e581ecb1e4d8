"""Plans that judge the share of a lot outside its limits from the mean and spread of a sample."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from spc.acceptance.plans.estimated import Judgement, estimated_outside, judgement
from spc.acceptance.plans.two_points import Promise, checked_shares, smallest
from spc.charts.refusals import spread_lots
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

FEWEST_SIGMA_UNKNOWN: Final = 3
FEWEST_SIGMA_KNOWN: Final = 2
MOST: Final = 20_000


@dataclass(frozen=True, slots=True, kw_only=True)
class VariablesPlan:
    """Accept the lot if the mean lies at least k sigmas inside its limit.

    Attributes
    ----------
    n
        Number of units measured, each once.
    k
        Acceptance constant.
    sigma_known
        Whether the spread within a lot is known from earlier lots.
    promise
        The risk points it was designed for; None where n and k were taken from a table.
    """

    n: int
    k: float
    sigma_known: bool = False
    promise: Promise | None = None

    def __post_init__(self) -> None:
        fewest = FEWEST_SIGMA_KNOWN if self.sigma_known else FEWEST_SIGMA_UNKNOWN
        if self.n < fewest or not math.isfinite(self.k):
            raise InvalidInput(
                f"n = {self.n} with k = {self.k:g} is no plan.",
                where="variables plan",
                remedy=f"Give at least {fewest} units and a finite k.",
            )

    @property
    def most_outside(self) -> float:
        """Largest estimated share outside that is accepted: the estimate at an index of k."""
        return float(estimated_outside(self.k, n=self.n, sigma_known=self.sigma_known))

    def acceptance_probability(self, p: ArrayLike) -> Floats:
        """Chance that a lot is accepted: the operating-characteristic curve.

        Parameters
        ----------
        p : any shape
            True share of the lot beyond its limit.

        Returns
        -------
        array of the shape of `p`

        Raises
        ------
        InvalidInput
            If a share is not between 0 and 1.

        Notes
        -----
        Exact for normal values free of measurement error and one limit; `plan_curve` has the
        error, and two limits, in it.

        References
        ----------
        Lieberman, G. J. and Resnikoff, G. J. (1955), Journal of the American Statistical
        Association 50, 457-516.
        """
        share = checked_shares(p, where="acceptance probability")
        inner = np.clip(share, 1e-300, 1.0 - 1e-16)
        chance = _chance(self.n, self.k, stats.norm.isf(inner), sigma_known=self.sigma_known)
        ends = np.where(share == 0.0, 1.0, np.where(share == 1.0, 0.0, chance))
        return np.asarray(ends, dtype=np.float64)

    def judge(
        self,
        values: ArrayLike,
        *,
        lower: float | None = None,
        upper: float | None = None,
        sigma: float | None = None,
    ) -> Judgement:
        """A sample against one limit or two.

        Parameters
        ----------
        values : shape (n,)
            One measured value per unit, on the scale (linear or log) on which they are normal.
        lower, upper
            Limits on the scale of `values`; None where there is none.
        sigma
            The known standard deviation; only for a plan with sigma known.

        Returns
        -------
        Judgement
            With the estimated share outside, and the indices.

        Raises
        ------
        InvalidInput
            If the number of values is not n, one is not finite, there is no limit, limits are
            crossed, or `sigma` does not fit the plan.
        NoSpread
            If all values are equal and sigma is not known.

        Notes
        -----
        Two limits are judged by the estimated share outside, added over both sides; with one
        limit that is the same decision as index against k.

        References
        ----------
        MIL-STD-414 (1957), sections B and D, Form 2; estimate by Lieberman and Resnikoff (1955).
        """
        sample, spread = self._sample(values, sigma)
        return judgement(self, mean=float(sample.mean()), sigma=spread, lower=lower, upper=upper)

    def _sample(self, values: ArrayLike, sigma: float | None) -> tuple[Floats, float]:
        if (sigma is not None) != self.sigma_known or not (sigma is None or 0.0 < sigma < math.inf):
            known = "known" if self.sigma_known else "unknown"
            raise InvalidInput(
                f"sigma {sigma} does not fit a plan with sigma {known}.",
                where="variables plan",
                remedy="Give a positive sigma exactly where the plan takes it as known.",
            )
        sample = np.asarray(values, dtype=np.float64)
        if sample.shape != (self.n,) or not np.all(np.isfinite(sample)):
            raise InvalidInput(
                f"the plan asks for {self.n} measured values, but {np.isfinite(sample).sum()} of"
                f" {sample.size} are there.",
                where="variables plan",
                remedy=f"Measure {self.n} units once each, or choose a plan of their number.",
            )
        if sigma is not None:
            return sample, sigma
        return sample, float(spread_lots(sample, where="variables plan").std(ddof=1))


def variables_plan(
    *,
    aql: float,
    rql: float,
    producer_risk: float = 0.05,
    consumer_risk: float = 0.10,
    sigma_known: bool = False,
) -> VariablesPlan:
    """The smallest variables plan that keeps two risks.

    Parameters
    ----------
    aql, rql
        Share nonconforming at which a lot is to be accepted, and to be rejected.
    producer_risk
        Highest chance that a lot at the AQL is rejected.
    consumer_risk
        Highest chance that a lot at the RQL is accepted.
    sigma_known
        Whether the spread within a lot is known from earlier lots.

    Returns
    -------
    VariablesPlan
        Smallest n for which some k keeps both risks; k lies midway between the one that uses up
        the consumer's risk and the one that uses up the producer's.

    Raises
    ------
    InvalidInput
        If a share or risk is no probability, they are crossed, or more than `MOST` units would
        be needed.

    Notes
    -----
    For independent normal values and one limit.  Measurement error is taken to be small against
    the spread within a lot (ISO 3951-2 asks for a tenth at most); `plan_curve` shows what it does.

    References
    ----------
    Lieberman, G. J. and Resnikoff, G. J. (1955), Journal of the American Statistical
    Association 50, 457-516: noncentral t.  ISO 3951-1, ISO 3951-2.
    """
    promise = Promise(rql=rql, consumer_risk=consumer_risk, aql=aql, producer_risk=producer_risk)
    good, bad = float(stats.norm.isf(aql)), float(stats.norm.isf(rql))

    def span(n: int) -> tuple[float, float]:
        return (
            _constant(n, bad, consumer_risk, sigma_known=sigma_known),
            _constant(n, good, 1.0 - producer_risk, sigma_known=sigma_known),
        )

    def holds(n: int) -> bool:
        least, most = span(n)
        return least <= most

    fewest = FEWEST_SIGMA_KNOWN if sigma_known else FEWEST_SIGMA_UNKNOWN
    n = smallest(holds, fewest=fewest, most=MOST)
    if n is None:
        raise InvalidInput(
            f"an AQL of {aql:g} and an RQL of {rql:g} need more than {MOST} units.",
            where="variables plan",
            remedy="Move the two shares apart, or accept larger risks.",
        )
    return VariablesPlan(n=n, k=sum(span(n)) / 2.0, sigma_known=sigma_known, promise=promise)


def _chance(n: int, k: float, z: ArrayLike, *, sigma_known: bool) -> Floats:
    root = math.sqrt(n)
    away = np.asarray(z, dtype=np.float64)
    if sigma_known:
        return np.asarray(stats.norm.cdf(root * (away - k)), dtype=np.float64)
    return np.asarray(stats.nct.sf(root * k, n - 1, root * away), dtype=np.float64)


def _constant(n: int, z: float, chance: float, *, sigma_known: bool) -> float:
    """The k at which a lot whose limit lies z sigmas from its mean is accepted with a chance."""
    root = math.sqrt(n)
    if sigma_known:
        return z - float(stats.norm.ppf(chance)) / root
    return float(stats.nct.isf(chance, n - 1, root * z)) / root
