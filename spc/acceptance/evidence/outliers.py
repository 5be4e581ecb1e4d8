"""Tests for outlying values and variances: they tell where to look, and take nothing out."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

from spc.charts.outlying import ExtremeDeviates, extreme_deviates, largest_deviate
from spc.charts.refusals import refuse_outside, refuse_unfinished, spread_lots
from spc.errors import InvalidInput

__all__ = ["ExtremeDeviates", "Suspect", "cochran", "extreme_deviates", "grubbs"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspect:
    """The one value or variance that stands out most.

    Attributes
    ----------
    statistic, critical
        Of the test, and what chance exceeds at `risk`.
    position
        Which one it is, counted from 0.
    outlying
        Whether the statistic exceeds its critical value.
    size
        Number of values or variances it was compared with, itself among them.
    risk
        Chance that one is called outlying where none is.
    """

    statistic: float
    critical: float
    position: int
    outlying: bool
    size: int
    risk: float


def grubbs(x: ArrayLike, *, risk: float = 0.05) -> Suspect:
    """The value farthest from the mean, on either side.

    Parameters
    ----------
    x : shape (values,)
        Any unit; at least three, finite, not all equal.
    risk
        Chance that normal values without an outlier show one.

    Returns
    -------
    Suspect

    Raises
    ------
    InvalidInput
        If there are too few values, one is not finite, they are all equal, or `risk` is not
        between 0 and a half.

    Notes
    -----
    For one outlier.  Two that lie together hide each other; `extreme_deviates` looks for several.

    References
    ----------
    Grubbs, F. E. (1969), Technometrics 11, 1-21; ISO 5725-2, 8.3.5; NIST/SEMATECH e-Handbook of
    Statistical Methods, 1.3.5.17.1.
    """
    values = spread_lots(x, where="Grubbs' test", fewest=3)
    refuse_outside(risk, 0.0, 0.5, name="risk", where="Grubbs' test")
    off = np.abs(values - values.mean())
    position = int(off.argmax())
    statistic = float(off[position] / values.std(ddof=1))
    return _suspect(statistic, largest_deviate(values.size, risk), position, values.size, risk)


def cochran(variances: ArrayLike, *, replicates: int, risk: float = 0.05) -> Suspect:
    """The largest of several variances, as a share of their sum.

    Parameters
    ----------
    variances : shape (samples,)
        Each of the same number of replicates; at least two, none negative, not all zero.
    replicates
        Readings behind each variance, at least two.
    risk
        Chance that equal variances show an outlier.

    Returns
    -------
    Suspect

    Raises
    ------
    InvalidInput
        If there are too few variances or replicates, a variance is negative or not finite, all
        are zero, or `risk` is not between 0 and a half.

    Notes
    -----
    The critical value adds up the chances of all variances; where two of them can exceed it at
    once the risk is a little smaller than stated.

    References
    ----------
    ISO 5725-2, 8.3.4: Cochran's test.
    """
    spread = np.asarray(variances, dtype=np.float64)
    refuse_outside(risk, 0.0, 0.5, name="risk", where="Cochran's test")
    refuse_unfinished(spread, where="Cochran's test")
    if spread.ndim != 1 or spread.size < 2 or replicates < 2 or np.any(spread < 0.0):
        raise InvalidInput(
            f"{spread.size} variances of {replicates} replicates cannot be compared.",
            where="Cochran's test",
            remedy="Give at least two variances, none negative, of two replicates or more.",
        )
    total = float(spread.sum())
    if total == 0.0:
        raise InvalidInput(
            "all variances are zero.",
            where="Cochran's test",
            remedy="Check whether the replicates were copied.",
        )
    position = int(spread.argmax())
    critical = _largest_share(spread.size, replicates, risk)
    return _suspect(float(spread[position]) / total, critical, position, spread.size, risk)


def _largest_share(size: int, replicates: int, risk: float) -> float:
    degrees = replicates - 1
    f = float(stats.f.isf(risk / size, degrees, (size - 1) * degrees))
    return f / (f + size - 1)


def _suspect(statistic: float, critical: float, position: int, size: int, risk: float) -> Suspect:
    return Suspect(
        statistic=statistic,
        critical=critical,
        position=position,
        outlying=statistic > critical,
        size=size,
        risk=risk,
    )
