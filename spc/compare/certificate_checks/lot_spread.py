"""How much lots truly differ, by own results less what measuring adds."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from spc.compare.certificate_checks.certificate_pairs import CertificatePairs

UNRELIABLE: Final = (
    "Own results differ little more than their own error, so they do not show how lots vary."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LotSpread:
    """Spread between lots by own results.

    Attributes
    ----------
    seen
        Standard deviation of own results, on the scale of the pairs.
    error
        Root mean square of their standard uncertainties.
    lots
        Number of own results.
    """

    seen: float
    error: float
    lots: int

    @property
    def reliability(self) -> float:
        """Share of the variance of own results that comes from the lots; zero at least."""
        return max(0.0, 1.0 - (self.error / self.seen) ** 2) if self.seen > 0.0 else 0.0

    @property
    def between(self) -> float:
        """Standard deviation between lots, without what measuring adds."""
        return self.seen * math.sqrt(self.reliability)

    @property
    def degrees(self) -> float:
        """Degrees of freedom of the square of `between`, to a first approximation.

        References
        ----------
        Satterthwaite, F. E. (1946), Biometrics Bulletin 2, 110-114.
        """
        return (self.lots - 1) * self.reliability**2


def lot_spread(paired: CertificatePairs) -> LotSpread:
    """The spread between lots that own results show.

    Parameters
    ----------
    paired
        Lots with both values; an own result without uncertainty counts as certain.

    Returns
    -------
    LotSpread

    Notes
    -----
    The whole standard uncertainty is taken off, with the part that all results share and that
    does not spread them: lots differ by no less than this says.
    """
    error = np.nan_to_num(paired.own_uncertainty)
    return LotSpread(
        seen=float(paired.own_worked.std(ddof=1)),
        error=float(np.sqrt(np.mean(error**2))),
        lots=paired.own.size,
    )
