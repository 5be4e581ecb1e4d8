"""Whether certificates vary less than lots do, or follow own results closer than they can."""

from typing import Final

import numpy as np
from scipy import stats

from spc.compare.certificate_checks.certificate_pairs import CertificatePairs
from spc.compare.certificate_checks.certificate_patterns import (
    Pattern,
    spread_in_words,
    too_few,
    untested,
)
from spc.compare.certificate_checks.lot_spread import UNRELIABLE, LotSpread

SPREAD_TEST: Final = "one-sided F test of variances"
AGREEMENT_TEST: Final = "one-sided chi-squared test of the differences"
FEWEST: Final = 6
# With fewer degrees of freedom the spread between lots is a rumour.
LEAST_DEGREES: Final = 3.0


def spread_too_small(paired: CertificatePairs, spread: LotSpread) -> Pattern:
    """Test whether declared values vary less than the lots that they are of.

    Parameters
    ----------
    paired
        Lots with both values.
    spread
        Between them, by own results.

    Returns
    -------
    Pattern
        The statistic is the variance of declared values over that between lots by own results
        less measurement error; honest ones make it about 1 or more.

    Notes
    -----
    The degrees of freedom of a variance less another are those of Satterthwaite.  That honest
    certificates have an error of their own, and rise and fall with own results, makes the test
    err on the safe side.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.5.9: F test of two variances.
    Satterthwaite, F. E. (1946), Biometrics Bulletin 2, 110-114.
    """
    size, declared = paired.own.size, float(paired.declared_worked.std(ddof=1))
    reason = too_few(size, FEWEST)
    if not reason and spread.degrees < LEAST_DEGREES:
        reason = UNRELIABLE
    if reason:
        return untested("spread too small", SPREAD_TEST, size=size, reason=reason)
    ratio = (declared / spread.between) ** 2
    return Pattern(
        name="spread too small",
        test=SPREAD_TEST,
        statistic=ratio,
        expected=1.0,
        p_value=float(stats.f.cdf(ratio, size - 1, spread.degrees)),
        size=size,
        sentence=f"Declared values vary by {spread_in_words(declared, paired.scale)}, and lots by"
        f" {spread_in_words(spread.between, paired.scale)} at least, by own results.",
    )


def agreement_too_close(paired: CertificatePairs) -> Pattern:
    """Test whether declared values follow own results closer than sampling lets them.

    Parameters
    ----------
    paired
        Lots with both values, and the part of the own uncertainty that differs from lot to lot.

    Returns
    -------
    Pattern
        The statistic is the sum of squared differences from their mean, each over the variance
        that sampling gives the own result; honest ones make it its degrees of freedom or more.

    Notes
    -----
    The error of the certificate's own laboratory is left out, which errs on the safe side.  Own
    results that were copied from certificates show here as well as certificates that were copied
    from own results.  A planning value in place of a spread that was found may make honest
    differences look small.

    References
    ----------
    Birge, R. T. (1932), Physical Review 40, 207-227: scatter against stated uncertainties.
    """
    size, sampling = paired.own.size, paired.own_sampling
    reason = too_few(size, FEWEST)
    if not np.all(sampling > 0.0):
        reason = "The part of the own uncertainty that differs from lot to lot is not known."
    if reason:
        return untested("agreement too close", AGREEMENT_TEST, size=size, reason=reason)
    difference, weight = paired.difference, sampling**-2.0
    off = difference - np.average(difference, weights=weight)
    statistic = float(np.sum(weight * off**2))
    seen, expected = (
        spread_in_words(float(spread), paired.scale)
        for spread in (difference.std(ddof=1), weight.mean() ** -0.5)
    )
    return Pattern(
        name="agreement too close",
        test=AGREEMENT_TEST,
        statistic=statistic,
        expected=float(size - 1),
        p_value=float(stats.chi2.cdf(statistic, size - 1)),
        size=size,
        sentence=f"Declared and own values scatter about each other by {seen}, though sampling"
        f" alone makes own values scatter by {expected}.",
    )
