"""Plans that decide after every unit: accept, reject, or look at one more."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.acceptance.plans.attributes_design import attributes_plan
from spc.acceptance.plans.two_points import Promise, checked_shares
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

# Of the size of the single plan with the same risks, where sampling ends at the latest.
LONGEST: Final = 1.5
# A count this close to a line lies on it.
TIE: Final = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class SequentialPlan:
    """Accept at or below the lower line, reject at or above the upper one, else go on.

    Attributes
    ----------
    accept_intercept, reject_intercept
        Where the lines begin, h1 (taken off) and h2 (added), in units nonconforming.
    slope
        By which both rise a unit examined.
    longest
        Units after which it ends: the lot is then accepted if no more than `last_c` of them do
        not conform.
    last_c
    promise
        The risk points it was designed for.
    """

    accept_intercept: float
    reject_intercept: float
    slope: float
    longest: int
    last_c: int
    promise: Promise

    def acceptance_number(self, units: ArrayLike) -> NDArray[np.int64]:
        """Largest count at which the lot is accepted after so many units; below 0, none."""
        line = self.slope * np.asarray(units, dtype=np.float64) - self.accept_intercept
        return np.floor(line + TIE).astype(np.int64)

    def rejection_number(self, units: ArrayLike) -> NDArray[np.int64]:
        """Smallest count at which it is rejected after so many units."""
        line = self.slope * np.asarray(units, dtype=np.float64) + self.reject_intercept
        return np.ceil(line - TIE).astype(np.int64)

    def acceptance_probability(self, p: ArrayLike) -> Floats:
        """Chance that a large lot is accepted, exactly, the ending included.

        Parameters
        ----------
        p : any shape
            Share nonconforming.

        Returns
        -------
        array of the shape of `p`

        Raises
        ------
        InvalidInput
            If a share is not between 0 and 1.
        """
        return self._followed(p)[0]

    def average_sample_number(self, p: ArrayLike) -> Floats:
        """Units examined until the decision, on average; shapes and errors as above."""
        return self._followed(p)[1]

    def _followed(self, p: ArrayLike) -> tuple[Floats, Floats]:
        """Chance of acceptance and mean number of units, by the count, unit after unit."""
        share = checked_shares(p, where="sequential plan")
        flat = share.ravel()[:, None]
        units = np.arange(1, self.longest + 1)
        accept, reject = self.acceptance_number(units), self.rejection_number(units)
        count = np.arange(int(reject.max()) + 1)
        going = np.zeros((flat.size, count.size))
        going[:, 0] = 1.0
        accepted, examined = np.zeros(flat.size), np.zeros(flat.size)
        for low, high in zip(accept, reject, strict=True):
            examined += going.sum(axis=1)
            after = going * (1.0 - flat)
            after[:, 1:] += going[:, :-1] * flat
            accepted += after[:, count <= low].sum(axis=1)
            going = np.where((count > low) & (count < high), after, 0.0)
        accepted += going[:, count <= self.last_c].sum(axis=1)
        return accepted.reshape(share.shape), examined.reshape(share.shape)


def sequential_plan(promise: Promise) -> SequentialPlan:
    """Wald's plan for two risk points, ended at one and a half times the single plan.

    Parameters
    ----------
    promise
        Shares and risks.

    Returns
    -------
    SequentialPlan

    Raises
    ------
    InvalidInput
        If a risk point is missing, or no single plan keeps the promise either.

    Notes
    -----
    The lines keep the risks but for what is overshot: neither exceeds risk / (1 - the other), and
    together they stay below the stated sum.  Ending the sampling moves them a little.

    References
    ----------
    Wald, A. (1945), Annals of Mathematical Statistics 16, 117-186.
    NIST/SEMATECH e-Handbook of Statistical Methods, section 6.2.6.
    ISO 2859-5 and ISO 28591 for the terms, and for ending at 1.5 times the single plan.
    """
    if promise.aql is None or promise.producer_risk is None:
        raise InvalidInput(
            "a sequential plan needs both risk points.",
            where="sequential plan",
            remedy="Give an AQL with the producer's risk, too.",
        )
    p1, p2 = promise.aql, promise.rql
    alpha, beta = promise.producer_risk, promise.consumer_risk
    single = attributes_plan(aql=p1, rql=p2, producer_risk=alpha, consumer_risk=beta)
    scale = math.log(p2 * (1.0 - p1) / (p1 * (1.0 - p2)))
    slope = math.log((1.0 - p1) / (1.0 - p2)) / scale
    longest = math.ceil(LONGEST * single.n)
    return SequentialPlan(
        accept_intercept=math.log((1.0 - alpha) / beta) / scale,
        reject_intercept=math.log((1.0 - beta) / alpha) / scale,
        slope=slope,
        longest=longest,
        last_c=math.floor(slope * longest),
        promise=promise,
    )
