"""Inspecting only some lots of a supplier who has earned it, and what that lets through."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.acceptance.plans.attributes import AttributesPlan
from spc.acceptance.plans.outgoing import OutgoingLimit, outgoing_limit
from spc.errors import InvalidInput

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class SkipLotPlan:
    """Every lot until so many in a row are accepted, then a random share until one is rejected.

    Attributes
    ----------
    reference
        The plan by which a lot is inspected.
    share
        Of lots inspected while skipping, chosen at random; above 0 and below 1.
    clearance
        Lots accepted in a row that begin the skipping.
    """

    reference: AttributesPlan
    share: float
    clearance: int

    def __post_init__(self) -> None:
        if not 0.0 < self.share < 1.0 or self.clearance < 1:
            raise InvalidInput(
                f"inspecting a share of {self.share:g} after {self.clearance} lots is no plan.",
                where="skip-lot plan",
                remedy="Give a share between 0 and 1, and one lot or more.",
            )

    def acceptance_probability(self, p: ArrayLike) -> Floats:
        """Share of lots accepted in the long run, those not inspected included.

        Parameters
        ----------
        p : any shape
            Share nonconforming of every lot.

        Returns
        -------
        array of the shape of `p`

        Raises
        ------
        InvalidInput
            If a share is not between 0 and 1.

        References
        ----------
        Perry, R. L. (1973), Journal of Quality Technology 5(3), 123-130 (plan SkSP-2).
        """
        accepted = self.reference.acceptance_probability(p)
        inspected = self._inspected(accepted)
        return np.asarray(1.0 - inspected * (1.0 - accepted), dtype=np.float64)

    def inspected_share(self, p: ArrayLike) -> Floats:
        """Share of lots inspected in the long run; shapes and errors as above."""
        return self._inspected(self.reference.acceptance_probability(p))

    def average_sample_number(self, p: ArrayLike) -> Floats:
        """Units examined a lot, on average over all lots; shapes and errors as above."""
        return np.asarray(self.reference.n * self.inspected_share(p), dtype=np.float64)

    def outgoing_limit(self) -> OutgoingLimit:
        """The guarantee: the worst average share nonconforming that goes on to use.

        Returns
        -------
        OutgoingLimit
            With every rejected lot sorted and lots much larger than the sample, whatever share
            comes in, as long as it stays.
        """

        def outgoing(p: ArrayLike) -> Floats:
            share = np.asarray(p, dtype=np.float64)
            return self.acceptance_probability(share) * share

        return outgoing_limit(outgoing, lot_size=self.reference.lot_size)

    def longest_wait(self, risk: float = 0.05) -> int:
        """Lots after which an inspection has come round, but for this risk, while skipping."""
        if not 0.0 < risk < 1.0:
            raise InvalidInput(
                f"a risk of {risk:g} is none.",
                where="skip-lot plan",
                remedy="Give one between 0 and 1.",
            )
        return int(np.ceil(np.log(risk) / np.log1p(-self.share)))

    def _inspected(self, accepted: Floats) -> Floats:
        """From the time in each phase: lots until i in a row, and until one is rejected."""
        in_a_row = accepted**self.clearance
        return np.asarray(
            self.share / (self.share + (1.0 - self.share) * in_a_row), dtype=np.float64
        )
