"""Whether declared values repeat each other more often than chance makes them."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.charts.lots import Scale
from spc.compare.certificate_checks.certificate_pairs import CertificatePairs
from spc.compare.certificate_checks.certificate_patterns import Pattern, too_few, untested
from spc.compare.certificate_checks.printed_digits import PrintedDigits
from spc.digits import written

Floats = NDArray[np.float64]

TEST: Final = "repeats among rounded normal values, simulated"
FEWEST: Final = 6
SEED: Final = 1709
TRIALS: Final = 9999
# Enough where repeats are plainly ordinary; only the rest is worth all trials.
FIRST_TRIALS: Final = 999
ORDINARY: Final = 0.1
# Values drawn in all, so that long streams stay quick.
MOST_DRAWN: Final = 2_000_000


def repeated_values(pairs: CertificatePairs, digits: PrintedDigits, *, spread: float) -> Pattern:
    """Count the declared values that repeat an earlier one.

    Parameters
    ----------
    pairs
        All certificates, with or without own result.
    digits
        Of the declared values.
    spread
        Standard deviation of lots by own results, on the scale of the pairs: stands in where all
        declared values are equal and show none themselves.

    Returns
    -------
    Pattern
        The statistic is the number of certificates less the number of different values.

    Notes
    -----
    Honest values are drawn from a normal distribution with the mean and the standard deviation of
    the declared values, on their scale, and rounded to the step in which they are printed.
    Repeats shrink that spread and so make themselves likelier: the test errs on the safe side.
    Drawn with a fixed seed; the p-value counts the values seen as one more draw.

    References
    ----------
    Phipson, B. and Smyth, G. K. (2010), Statistical Applications in Genetics and Molecular
    Biology 9, 39: p-values from random draws.
    """
    size = pairs.declared.size
    differ = float(np.ptp(pairs.declared)) > 0.0
    own = float(pairs.declared_worked.std(ddof=1)) if differ else spread
    reason = too_few(size, FEWEST)
    if own <= 0.0:
        reason = "Neither certificates nor own results differ beyond the error of measuring."
    if reason:
        return untested("repeated values", TEST, size=size, reason=reason)
    # Of values that are all equal, the step is the value itself.
    step = digits.step if differ else digits.place
    seen = size - np.unique(np.rint(pairs.declared / step)).size
    honest = (pairs.declared_worked.mean(), own, size, step, pairs.scale)
    drawn = _repeats_by_chance(*honest, trials=FIRST_TRIALS)
    if np.mean(drawn >= seen) < ORDINARY:
        drawn = _repeats_by_chance(*honest, trials=TRIALS)
    expected = float(drawn.mean())
    return Pattern(
        name="repeated values",
        test=TEST,
        statistic=float(seen),
        expected=expected,
        p_value=float((1 + np.count_nonzero(drawn >= seen)) / (1 + drawn.size)),
        size=size,
        sentence=f"{seen} of {size} declared values repeat an earlier one, in steps of"
        f" {written(step)}; chance makes about {expected:.1f}.",
    )


def _repeats_by_chance(
    mean: float, spread: float, size: int, step: float, scale: Scale, *, trials: int
) -> NDArray[np.int64]:
    trials = min(trials, max(MOST_DRAWN // size, TRIALS // 10))
    generator = np.random.default_rng(SEED)
    values = mean + spread * generator.standard_normal((trials, size))
    steps = np.sort(np.rint((np.exp(values) if scale == "log" else values) / step), axis=1)
    return np.asarray((np.diff(steps, axis=1) == 0.0).sum(axis=1), dtype=np.int64)
