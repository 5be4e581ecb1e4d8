"""Plans that take a second sample where the first leaves it open."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special, stats

from spc.acceptance.plans.outgoing import OutgoingLimit, outgoing_limit
from spc.acceptance.plans.two_points import checked_shares
from spc.errors import InvalidInput

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class DoublePlan:
    """Accept at most c1 of n1, reject more than c2 at once, else decide on n1 + n2 by c2.

    Attributes
    ----------
    n1, c1
        Size of the first sample, and the acceptance number for it.
    n2, c2
        Size of the second, and the acceptance number for both together.
    """

    n1: int
    c1: int
    n2: int
    c2: int

    def __post_init__(self) -> None:
        if not (0 <= self.c1 < self.c2 < self.n1 + self.n2 and self.c1 < self.n1 and self.n2 > 0):
            raise InvalidInput(
                f"{self.n1}, {self.c1}, {self.n2}, {self.c2} is no double plan.",
                where="double plan",
                remedy="Give n1 above c1 >= 0, n2 above 0, and c2 above c1.",
            )

    def acceptance_probability(self, p: ArrayLike) -> Floats:
        """Chance that a large lot with this share nonconforming is accepted.

        Parameters
        ----------
        p : any shape

        Returns
        -------
        array of the shape of `p`

        Raises
        ------
        InvalidInput
            If a share is not between 0 and 1.

        References
        ----------
        NIST/SEMATECH e-Handbook of Statistical Methods, section 6.2.4.
        """
        share = checked_shares(p, where="double plan")
        at_once = np.asarray(special.bdtr(float(self.c1), self.n1, share), dtype=np.float64)
        open_ = np.arange(self.c1 + 1, min(self.c2, self.n1) + 1)
        first = np.asarray(stats.binom.pmf(open_, self.n1, share[..., None]))
        second = np.asarray(stats.binom.cdf(self.c2 - open_, self.n2, share[..., None]))
        return np.asarray(at_once + (first * second).sum(axis=-1), dtype=np.float64)

    def second_sample(self, p: ArrayLike) -> Floats:
        """Chance that the second sample is needed; shapes and errors as above."""
        share = checked_shares(p, where="double plan")
        open_ = np.arange(self.c1 + 1, min(self.c2, self.n1) + 1)
        chance = np.asarray(stats.binom.pmf(open_, self.n1, share[..., None]), dtype=np.float64)
        return np.asarray(chance.sum(axis=-1))

    def average_sample_number(self, p: ArrayLike) -> Floats:
        """Units examined a lot, on average, each sample examined to its end."""
        return np.asarray(self.n1 + self.n2 * self.second_sample(p), dtype=np.float64)

    def outgoing_limit(self) -> OutgoingLimit:
        """The worst average outgoing quality (AOQL), rejected lots being large and sorted."""

        def outgoing(p: ArrayLike) -> Floats:
            share = np.asarray(p, dtype=np.float64)
            return self.acceptance_probability(share) * share

        return outgoing_limit(outgoing, lot_size=None)
