"""Whether most of several printed values are rounded more coarsely than they are printed."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from spc.compare.certificate_checks.printed_digits import PrintedDigits

# Steps that people round to, in units of the last printed digit, coarsest first.
STEPS: Final = (100, 50, 25, 20, 10, 5, 2)
# From this share of the values on they are called rounded.
MOST: Final = 0.75
# By chance half of all values are even; so few are no sign of rounding to steps of two.
FEWEST: Final = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class CoarseRounding:
    """A step that most values are multiples of.

    Attributes
    ----------
    step
        In the unit of the values.
    multiples, size
        How many values are multiples of it, of how many.
    """

    step: float
    multiples: int
    size: int


def coarse_rounding(digits: PrintedDigits) -> CoarseRounding | None:
    """The coarsest step that at least three quarters of the values are multiples of.

    Parameters
    ----------
    digits
        Of the printed values.

    Returns
    -------
    CoarseRounding or None
        None where the values are as fine as they are printed, or fewer than six.

    Notes
    -----
    One value that is printed more finely hides rounding from the largest common step, but not from
    this.  Rounding makes values repeat and last digits uneven without any dishonesty.  Common
    practice, no source.
    """
    counts = np.rint(digits.value / digits.place).astype(np.int64)
    if counts.size < FEWEST or np.unique(counts).size == 1:
        return None
    for step in STEPS:
        multiples = int(np.count_nonzero(counts % step == 0))
        if multiples >= MOST * counts.size:
            return CoarseRounding(
                step=step * digits.place, multiples=multiples, size=int(counts.size)
            )
    return None
