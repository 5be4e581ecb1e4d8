"""Plans that count nonconforming units, exact for large lots and for lots of a stated size."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special, stats

from spc.acceptance.plans.outgoing import OutgoingLimit, outgoing_limit
from spc.acceptance.plans.two_points import Promise, checked_shares
from spc.errors import InvalidInput

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class CountJudgement:
    """What an attributes plan says of one sample.

    Attributes
    ----------
    accepted
        Whether at most c units did not conform.
    nonconforming, n
        Units that did not conform, among how many.
    share_at_most
        Share of a large lot that the count does not exclude, at `confidence` (one-sided).
    confidence
        Of `share_at_most`.
    """

    accepted: bool
    nonconforming: int
    n: int
    share_at_most: float
    confidence: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AttributesPlan:
    """Accept the lot if at most c of n units do not conform.

    Attributes
    ----------
    n, c
        Sample size and acceptance number.
    lot_size
        Units in the lot, which then enter exactly; None for a lot much larger than the sample.
    promise
        The risk points it was designed for; None where n and c were taken from a table.
    """

    n: int
    c: int
    lot_size: int | None = None
    promise: Promise | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.c < self.n or (self.lot_size is not None and self.n > self.lot_size):
            raise InvalidInput(
                f"n = {self.n} with c = {self.c} is no plan for a lot of {self.lot_size} units.",
                where="attributes plan",
                remedy="Give 0 <= c < n, and n no larger than the lot.",
            )

    def acceptance_probability(self, p: ArrayLike) -> Floats:
        """Chance that a lot is accepted: the operating-characteristic curve.

        Parameters
        ----------
        p : any shape
            True share of the lot that does not conform.

        Returns
        -------
        array of the shape of `p`
            With a lot size, for the whole number of units nearest to `p` times the lot size.

        Raises
        ------
        InvalidInput
            If a share is not between 0 and 1.

        References
        ----------
        MIL-STD-105E (1989), section 4: operating-characteristic curves.
        """
        share = checked_shares(p, where="acceptance probability")
        if self.lot_size is None:
            return np.asarray(special.bdtr(float(self.c), self.n, share), dtype=np.float64)
        bad = np.rint(share * self.lot_size)
        chance = stats.hypergeom.cdf(self.c, self.lot_size, bad, self.n)
        return np.asarray(chance, dtype=np.float64)

    def judge(self, nonconforming: int, *, confidence: float = 0.95) -> CountJudgement:
        """A count of nonconforming units.

        Parameters
        ----------
        nonconforming
            Units of the sample of n that do not conform.
        confidence
            Of the highest share that the count does not exclude.

        Returns
        -------
        CountJudgement

        Raises
        ------
        InvalidInput
            If the count is negative or larger than n.

        References
        ----------
        Clopper, C. J. and Pearson, E. S. (1934), Biometrika 26, 404-413: exact upper bound.
        """
        if not 0 <= nonconforming <= self.n:
            raise InvalidInput(
                f"{nonconforming} nonconforming units among {self.n} are not possible.",
                where="attributes plan",
                remedy=f"Give a count from 0 to {self.n}.",
            )
        bound = stats.beta.ppf(confidence, nonconforming + 1, self.n - nonconforming)
        return CountJudgement(
            accepted=nonconforming <= self.c,
            nonconforming=nonconforming,
            n=self.n,
            share_at_most=1.0 if nonconforming == self.n else float(bound),
            confidence=confidence,
        )

    def average_outgoing_quality(self, p: ArrayLike, lot_size: int | None = None) -> Floats:
        """Share nonconforming that goes on to use when rejected lots are sorted.

        Parameters
        ----------
        p : any shape
            Share nonconforming of the lots that come in.
        lot_size
            Units in a lot; by default that of the plan, and without one, a very large lot.

        Returns
        -------
        array of the shape of `p`
            Nonconforming units of samples and of sorted lots are replaced by good ones.

        Raises
        ------
        InvalidInput
            If a share is not between 0 and 1, or the lot is smaller than the sample.

        References
        ----------
        NIST/SEMATECH e-Handbook of Statistical Methods, section 6.2.3.2: Pa p (N - n) / N.
        """
        share = checked_shares(p, where="average outgoing quality")
        passed = self.acceptance_probability(share) * share * self._unsampled(lot_size)
        return np.asarray(passed, dtype=np.float64)

    def average_total_inspection(self, p: ArrayLike, lot_size: int | None = None) -> Floats:
        """Units inspected per lot, on average, when rejected lots are sorted.

        Parameters
        ----------
        p : any shape
            Share nonconforming of the lots that come in.
        lot_size
            Units in a lot; by default that of the plan.

        Returns
        -------
        array of the shape of `p`

        Raises
        ------
        InvalidInput
            If a share is not between 0 and 1, or no lot size is known.

        References
        ----------
        NIST/SEMATECH e-Handbook of Statistical Methods, section 6.2.3.2.
        """
        size = self.lot_size if lot_size is None else lot_size
        if size is None:
            raise InvalidInput(
                "the size of the lot is not known.",
                where="average total inspection",
                remedy="Give lot_size.",
            )
        rest = size * self._unsampled(size)
        return np.asarray(self.n + (1.0 - self.acceptance_probability(p)) * rest, dtype=np.float64)

    def outgoing_limit(self, lot_size: int | None = None) -> OutgoingLimit:
        """The worst average outgoing quality, whatever comes in (AOQL).

        Parameters
        ----------
        lot_size
            Units in a lot; by default that of the plan, and without one, a very large lot.

        Returns
        -------
        OutgoingLimit
            The limit, and the incoming share at which it is reached.

        Raises
        ------
        InvalidInput
            If the lot is smaller than the sample.

        References
        ----------
        Dodge, H. F. and Romig, H. G. (1959), Sampling Inspection Tables, 2nd edition.
        """

        def outgoing(p: ArrayLike) -> Floats:
            return self.average_outgoing_quality(p, lot_size)

        return outgoing_limit(outgoing, lot_size=self.lot_size)

    def _unsampled(self, lot_size: int | None) -> float:
        size = self.lot_size if lot_size is None else lot_size
        if size is None:
            return 1.0
        if size < self.n:
            raise InvalidInput(
                f"a lot of {size} units is smaller than the sample of {self.n}.",
                where="attributes plan",
                remedy="Inspect the whole lot, or give the size of the lot in units.",
            )
        return (size - self.n) / size
