"""Whether the last printed digit falls on some figures more often than on others."""

from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import special, stats

from spc.compare.certificate_checks.certificate_pairs import CertificatePairs
from spc.compare.certificate_checks.certificate_patterns import Pattern, too_few, untested
from spc.compare.certificate_checks.printed_digits import PrintedDigits
from spc.digits import written

Integers = NDArray[np.int64]

TEST: Final = "chi-squared test of even last digits"
FEWEST: Final = 10
DIGITS: Final = 10
# From five values a digit on, the chi-squared distribution serves.
MOST_EXACT: Final = 50
# A normal spread of so many units of the last digit makes its figures even within 1.5 %.
LEAST_SPREAD: Final = 5.0


def digit_preference(pairs: CertificatePairs, digits: PrintedDigits) -> Pattern:
    """Test whether all last digits are equally frequent.

    Parameters
    ----------
    pairs
        All certificates, with or without own result.
    digits
        Of the declared values.

    Returns
    -------
    Pattern
        The statistic is chi-squared with nine degrees of freedom.

    Notes
    -----
    Exact up to 50 certificates.  Nothing is said where values spread over fewer than five units of
    their last digit, for then it is the lots that choose it.  Rounding to 5 shows here too: it is
    coarse, not dishonest.

    References
    ----------
    Pearson, K. (1900), Philosophical Magazine 50, 157-175.
    """
    size = digits.last_digit.size
    reason = too_few(size, FEWEST)
    if not reason and float(pairs.declared.std(ddof=1)) < LEAST_SPREAD * digits.place:
        reason = "Values differ by a few units of their last digit, so it follows the lots."
    if reason:
        return untested("digit preference", TEST, size=size, reason=reason)
    count = np.bincount(digits.last_digit, minlength=DIGITS)
    statistic = float(count @ count * DIGITS / size - size)
    favourite = int(count.argmax())
    return Pattern(
        name="digit preference",
        test=TEST,
        statistic=statistic,
        expected=float(DIGITS - 1),
        p_value=chance_of_digits(count),
        size=size,
        sentence=f"{count[favourite]} of {size} declared values have a {favourite} as their last"
        f" digit, that of {written(digits.place)}; about {size / DIGITS:.1f} would be even.",
    )


def chance_of_digits(count: Integers) -> float:
    """Chance of counts at least as uneven, where all digits are equally frequent.

    Parameters
    ----------
    count : shape (digits,)
        How often each digit was printed.

    Returns
    -------
    float
        Exact up to `MOST_EXACT` values, by chi-squared beyond.
    """
    size, squares = int(count.sum()), int(count @ count)
    if size > MOST_EXACT:
        return float(stats.chi2.sf(squares * count.size / size - size, count.size - 1))
    return float(_sums_of_squares(size, count.size)[squares:].sum())


@lru_cache(maxsize=MOST_EXACT)
def _sums_of_squares(size: int, digits: int) -> NDArray[np.float64]:
    """Chance of each sum of squared counts of `size` values among equally frequent digits."""
    # Digit by digit: weight of (values so far, sum of squares so far), each 1 / count!.
    weight = np.zeros((size + 1, size**2 + 1))
    weight[0, 0] = 1.0
    for _ in range(digits):
        grown = np.zeros_like(weight)
        for own in range(size + 1):
            kept = weight[: size + 1 - own, : size**2 + 1 - own**2]
            grown[own:, own**2 :] += kept / special.factorial(own)
        weight = grown
    log_ways = special.gammaln(size + 1) - size * np.log(digits)
    return np.asarray(weight[size] * np.exp(log_ways), dtype=np.float64)
