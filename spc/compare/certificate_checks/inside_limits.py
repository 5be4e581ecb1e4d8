"""Whether declared values crowd just inside a specification limit."""

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import special

from spc.compare.certificate_checks.certificate_pairs import CertificatePairs
from spc.compare.certificate_checks.certificate_patterns import (
    Pattern,
    spread_in_words,
    too_few,
    untested,
)
from spc.compare.certificate_checks.lot_spread import UNRELIABLE, LotSpread

Floats = NDArray[np.float64]

TEST: Final = "sum of unequal chances (Poisson binomial), by own results"
FEWEST: Final = 8
# Width of the band, in standard deviations of own results.
BAND: Final = 0.25
# Where own results owe more of their spread to measuring than to the lots, they say too little of
# what a certificate should be: in simulations the test then cries wolf.
LEAST_RELIABILITY: Final = 0.5


def just_inside(
    paired: CertificatePairs, spread: LotSpread, *, lower: float, upper: float
) -> Pattern:
    """Count the declared values in a thin band inside the limits.

    Parameters
    ----------
    paired
        Lots with both values.
    spread
        Between them, by own results.
    lower, upper
        Limits of the specification on the scale of the pairs; infinite where there is none.

    Returns
    -------
    Pattern
        The statistic is the number of certificates in the band.

    Notes
    -----
    The band is a quarter of the spread of own results wide, its limit included.  An honest
    certificate of a lot lies about the own result, moved by the bias that all certificates show
    and drawn to the mean as far as own results are uncertain, and scatters as far as differences
    do.  A supplier that ships no lot beyond the limit crowds a little too; own results then show
    the same crowd.

    References
    ----------
    Hong, Y. (2013), Computational Statistics and Data Analysis 59, 41-51: the distribution by its
    characteristic function.
    """
    size = paired.own.size
    reason = too_few(size, FEWEST)
    if math.isinf(lower) and math.isinf(upper):
        reason = "The specification has no limit."
    elif not reason and spread.reliability < LEAST_RELIABILITY:
        reason = UNRELIABLE
    if reason:
        return untested("just inside the limit", TEST, size=size, reason=reason)
    # Half the specification at most, so that no value lies in two bands.
    width = min(BAND * spread.seen, (upper - lower) / 2.0)
    ends = _bands(lower, upper, width)
    inside = sum(
        (low <= paired.declared_worked) & (paired.declared_worked <= high) for low, high in ends
    )
    chances = np.minimum(sum(_chances(paired, spread, *band) for band in ends), 1.0)
    seen, expected = int(np.count_nonzero(inside)), float(chances.sum())
    return Pattern(
        name="just inside the limit",
        test=TEST,
        statistic=float(seen),
        expected=expected,
        p_value=chance_of_as_many(chances, seen),
        size=size,
        sentence=f"{seen} of {size} declared values lie inside a limit by less than"
        f" {spread_in_words(width, paired.scale)}; own results lead one to expect {expected:.1f}.",
    )


def chance_of_as_many(chances: Floats, seen: int) -> float:
    """Chance that at least so many of several independent events happen.

    Parameters
    ----------
    chances : shape (events,)
        Of each.
    seen
        How many happened.

    Returns
    -------
    float
    """
    turn = np.exp(2j * np.pi * np.arange(chances.size + 1) / (chances.size + 1))
    spectrum = np.prod(1.0 + chances * (turn[:, None] - 1.0), axis=1)
    number = np.fft.fft(spectrum).real / turn.size
    return float(np.clip(number[seen:].sum(), 0.0, 1.0))


def _bands(lower: float, upper: float, width: float) -> list[tuple[float, float]]:
    """The band inside each limit."""
    # A value printed on the limit may differ from it in its last bit.
    slack = width * 1e-9
    bands = [(lower - slack, lower + width), (upper - width, upper + slack)]
    return [band for band in bands if np.all(np.isfinite(band))]


def _chances(paired: CertificatePairs, spread: LotSpread, low: float, high: float) -> Floats:
    """Chance of each honest certificate to lie in a band."""
    difference, own = paired.difference, paired.own_worked
    foreign = max(0.0, float(difference.var(ddof=1)) - spread.error**2)
    centre = own.mean() + difference.mean() + spread.reliability * (own - own.mean())
    scatter = math.sqrt(spread.reliability * spread.error**2 + foreign)
    # Certificates that repeat an own result without error scatter by rounding alone.
    scatter = max(scatter, 1e-12 * spread.seen)
    return np.asarray(
        special.ndtr((high - centre) / scatter) - special.ndtr((low - centre) / scatter)
    )
