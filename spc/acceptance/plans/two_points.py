"""The two points that a sampling plan is designed for, and the search for the smallest one."""

from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.charts.refusals import refuse_outside
from spc.errors import InvalidInput


@dataclass(frozen=True, slots=True, kw_only=True)
class Promise:
    """What a plan promises to both sides of the trade.

    Attributes
    ----------
    rql
        Share nonconforming at which a lot is to be rejected.
    consumer_risk
        Highest chance that such a lot is accepted all the same.
    aql
        Share nonconforming at which a lot is to be accepted; None where the plan promises the
        supplier nothing.
    producer_risk
        Highest chance that such a lot is rejected all the same; None without `aql`.
    """

    rql: float
    consumer_risk: float
    aql: float | None = None
    producer_risk: float | None = None

    def __post_init__(self) -> None:
        refuse_outside(self.rql, 0.0, 1.0, name="rejectable share", where="sampling plan")
        refuse_outside(self.consumer_risk, 0.0, 1.0, name="consumer risk", where="sampling plan")
        if self.aql is None or self.producer_risk is None:
            return
        refuse_outside(self.aql, 0.0, 1.0, name="acceptable share", where="sampling plan")
        refuse_outside(self.producer_risk, 0.0, 1.0, name="producer risk", where="sampling plan")
        self._refuse_crossed(self.aql, self.producer_risk)

    def _refuse_crossed(self, aql: float, producer_risk: float) -> None:
        if aql >= self.rql:
            raise InvalidInput(
                f"the acceptable share {aql:g} is not below the rejectable share {self.rql:g}.",
                where="sampling plan",
                remedy="Give an AQL below the RQL.",
            )
        if producer_risk + self.consumer_risk >= 1.0:
            raise InvalidInput(
                f"risks of {producer_risk:g} and {self.consumer_risk:g} are met by a coin.",
                where="sampling plan",
                remedy="Give risks that add up to less than 1, for example 0.05 and 0.10.",
            )


def smallest(holds: Callable[[int], bool], *, fewest: int, most: int) -> int | None:
    """The smallest number from which on a condition holds; None if it fails at the largest.

    Parameters
    ----------
    holds
        False up to some number, true from it on.
    fewest, most
        Ends of the search, both included.

    Returns
    -------
    int or None
    """
    top = fewest
    while not holds(top):
        if top >= most:
            return None
        top = min(2 * top, most)
    return fewest + bisect_left(range(fewest, top + 1), 1, key=lambda number: int(holds(number)))


def checked_shares(p: ArrayLike, *, where: str) -> NDArray[np.float64]:
    """Shares from 0 to 1.

    Parameters
    ----------
    p : any shape
        Shares.
    where
        The computation that was asked for.

    Returns
    -------
    array of the shape of `p`

    Raises
    ------
    InvalidInput
        If one is below 0, above 1 or missing.
    """
    share = np.asarray(p, dtype=np.float64)
    refused = np.flatnonzero(~((share >= 0.0) & (share <= 1.0)))
    if refused.size:
        raise InvalidInput(
            f"share {share.flat[refused[0]]:g} is not between 0 and 1.",
            where=where,
            remedy="Give shares as fractions: 0.01 for 1 %.",
        )
    return share
