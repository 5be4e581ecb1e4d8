"""How samples and replicates of one lot scatter: noted where it is odd, and left as it is."""

import math
from collections.abc import Iterable
from functools import cache
from typing import Final

import numpy as np
from scipy.stats import studentized_range

from spc.acceptance.evidence.evidence import Readings
from spc.acceptance.evidence.flags import Flag
from spc.acceptance.evidence.outliers import cochran, extreme_deviates
from spc.acceptance.evidence.samples import sample_means
from spc.acceptance.specification import Scale
from spc.digits import written

# Chance that an honest lot raises a flag once; not 5 % a sample, which would cry wolf on every
# fourth lot of six bags.
_LOT_RISK: Final = 0.01
# Rosner (1983): the critical values hold well from 25 values on, and fairly from 15.
_FEWEST_FOR_SEVERAL: Final = 15
_LARGEST_SHARE: Final = 0.2


def replicates(readings: Readings, *, scale: Scale) -> Iterable[Flag]:
    """Repeated readings of one sample differ by more than the method's repeatability explains.

    Parameters
    ----------
    readings
        Samples of which none, some or all were read more than once.
    scale
        Of the line; on ``"log"`` the ranges are those of logarithms.

    Returns
    -------
    iterable of Flag
        One at most, for the whole lot.

    References
    ----------
    ISO 5725-6:1994, 4.1.4: critical range of n readings, here at one risk for the whole lot.
    """
    sample, start, count = np.unique(readings.sample, return_index=True, return_counts=True)
    # An open reading, and on log scale a zero, has no known distance to the others.
    exact = (readings.low == readings.high) & ((scale == "linear") | (readings.low > 0.0))
    repeated = np.logical_and.reduceat(exact, start) & (count > 1)
    if not np.any(repeated):
        return
    known = np.where(exact, readings.low, 1.0)
    values = np.log(known) if scale == "log" else known
    spread = np.maximum.reduceat(values, start) - np.minimum.reduceat(values, start)
    at = float(np.median(known[exact]))
    sigma = readings.method.on_scale(readings.method.repeatability, scale=scale, at=at)
    if sigma <= 0.0:
        return
    risk = _LOT_RISK / int(repeated.sum())
    factors = np.array([_critical_range(int(n), risk) if n > 1 else math.inf for n in count])
    wide = repeated & (spread > factors * sigma)
    if np.any(wide):
        yield Flag(
            name="replicates spread",
            sentence=f"{readings.characteristic}: repeated readings of"
            f" {int(wide.sum())} of {sample.size} samples differ by more than the repeatability"
            f" of {readings.method.method} explains.",
        )


def outlying_means(readings: Readings, *, scale: Scale) -> Iterable[Flag]:
    """One sample, or several, lie farther from the others than chance explains.

    Parameters
    ----------
    readings
        Of one method.
    scale
        Of the line; on ``"log"`` the logarithms of the sample means are looked at.

    Returns
    -------
    iterable of Flag
        One at most; nothing with fewer than three samples, an open one, or none that differ.

    References
    ----------
    Grubbs, F. E. (1969), Technometrics 11, 1-21; from 15 samples on Rosner, B. (1983),
    Technometrics 25, 165-172, so that several cannot hide behind each other.
    """
    samples = sample_means(readings, scale=scale)
    if samples.size < 3 or not samples.exact.all():
        return
    several = samples.size >= _FEWEST_FOR_SEVERAL
    most = int(_LARGEST_SHARE * samples.size) if several else 1
    found = extreme_deviates(samples.on_scale, most=most, risk=_LOT_RISK)
    odd = found.position[: found.count]
    if odd.size:
        told = ", ".join(written(samples.low[one], unit=samples.unit) for one in odd)
        verb = "lies" if odd.size == 1 else "lie"
        test = "generalised ESD" if several else "Grubbs"
        score = f"{found.statistic[odd.size - 1]:.2f}, limit {found.critical[odd.size - 1]:.2f}"
        yield Flag(
            name="outlying sample",
            sentence=f"{readings.characteristic}: {odd.size} of {samples.size} samples by"
            f" {readings.method.method} ({told}) {verb} farther from the others than chance"
            f" explains ({test} {score}). Nothing was left out; find the cause before anything is.",
        )


def outlying_spread(readings: Readings, *, scale: Scale) -> Iterable[Flag]:
    """The replicates of one sample scatter more than those of the others.

    Parameters
    ----------
    readings
        Of one method; samples read as often as most of them are looked at.
    scale
        Of the line; on ``"log"`` the variances are those of logarithms.

    Returns
    -------
    iterable of Flag
        One at most.

    References
    ----------
    ISO 5725-2, 8.3.4: Cochran's test, for samples of one number of replicates.
    """
    _, start, count = np.unique(readings.sample, return_index=True, return_counts=True)
    exact = (readings.low == readings.high) & ((scale == "linear") | (readings.low > 0.0))
    whole = np.logical_and.reduceat(exact, start) & (count > 1)
    if not np.any(whole):
        return
    replicates_of = int(np.bincount(count[whole]).argmax())
    chosen = start[whole & (count == replicates_of)]
    values = readings.low[chosen[:, np.newaxis] + np.arange(replicates_of)]
    variances = np.var(np.log(values) if scale == "log" else values, axis=1, ddof=1)
    if chosen.size < 2 or not np.any(variances > 0.0):
        return
    found = cochran(variances, replicates=replicates_of, risk=_LOT_RISK)
    if found.outlying:
        yield Flag(
            name="outlying sample",
            sentence=f"{readings.characteristic}: the {replicates_of} readings of one of"
            f" {chosen.size} samples by {readings.method.method} (about"
            f" {written(float(np.median(values[found.position])), unit=readings.unit)}) scatter"
            f" more than those of the others (Cochran {found.statistic:.2f}, limit"
            f" {found.critical:.2f}). Nothing was left out; find the cause before anything is.",
        )


@cache
def _critical_range(readings: int, risk: float) -> float:
    return float(studentized_range.isf(risk, readings, np.inf))
