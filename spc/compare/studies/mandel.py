"""Mandel's h and k: which laboratory reads high or low, and which scatters."""

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from spc.charts.refusals import refuse_outside
from spc.errors import InvalidInput

Floats = NDArray[np.float64]


def mandel_h(means: ArrayLike) -> Floats:
    """Between-laboratory consistency: each mean against all, in their standard deviations.

    Parameters
    ----------
    means : shape (..., laboratories)
        Of each laboratory at one level, any unit; NaN where it has none.

    Returns
    -------
    array of the shape of `means`
        NaN where there is no mean, or where all are equal.

    References
    ----------
    ISO 5725-2:1994, 7.3.1.
    """
    given = np.asarray(means, dtype=np.float64)
    off = given - _average(given)
    spread = np.sqrt(_average(off**2, less=1))
    h = np.divide(off, spread, out=np.full(given.shape, np.nan), where=spread > 0.0)
    return np.asarray(h, dtype=np.float64)


def mandel_k(variances: ArrayLike) -> Floats:
    """Within-laboratory consistency: each standard deviation against the root mean square of all.

    Parameters
    ----------
    variances : shape (..., laboratories)
        Of each laboratory's replicates at one level; NaN where it has fewer than two.

    Returns
    -------
    array of the shape of `variances`
        NaN where there is no variance, or where all are zero.

    References
    ----------
    ISO 5725-2:1994, 7.3.1.
    """
    given = np.asarray(variances, dtype=np.float64)
    pooled = _average(given)
    squared = np.divide(given, pooled, out=np.full(given.shape, np.nan), where=pooled > 0.0)
    return np.asarray(np.sqrt(squared), dtype=np.float64)


def _average(given: Floats, *, less: int = 0) -> Floats:
    """Mean over the laboratories that measured, by their number less so many; zero of none."""
    measured = ~np.isnan(given)
    total = np.where(measured, given, 0.0).sum(axis=-1, keepdims=True)
    return np.asarray(total / np.maximum(measured.sum(axis=-1, keepdims=True) - less, 1))


def critical_h(laboratories: int, risk: float) -> float:
    """What chance exceeds in the h of one laboratory, on either side.

    Parameters
    ----------
    laboratories
        At the level, at least three.
    risk
        Chance that a laboratory like all others exceeds it.

    Returns
    -------
    float

    Raises
    ------
    InvalidInput
        If there are fewer than three laboratories, or `risk` is not between 0 and 1.

    References
    ----------
    ISO 5725-2:1994, 7.3.1 and tables 6 and 7, here from Student's t.
    """
    _refuse(laboratories, 3, risk)
    p = laboratories
    t2 = float(stats.t.isf(risk / 2.0, p - 2)) ** 2
    return float((p - 1) * np.sqrt(t2 / (p * (t2 + p - 2))))


def critical_k(laboratories: int, replicates: int, risk: float) -> float:
    """What chance exceeds in the k of one laboratory, upwards.

    Parameters
    ----------
    laboratories
        At the level, at least two.
    replicates
        Of each laboratory, at least two.
    risk
        Chance that a laboratory like all others exceeds it.

    Returns
    -------
    float

    Raises
    ------
    InvalidInput
        If there are fewer than two of either, or `risk` is not between 0 and 1.

    References
    ----------
    ISO 5725-2:1994, 7.3.1 and tables 6 and 7, here from the F distribution.
    """
    _refuse(laboratories, 2, risk)
    _refuse(replicates, 2, risk)
    p, freedom = laboratories, replicates - 1
    f = float(stats.f.isf(risk, freedom, (p - 1) * freedom))
    return float(np.sqrt(p / (1.0 + (p - 1) / f)))


def _refuse(count: int, fewest: int, risk: float) -> None:
    refuse_outside(risk, 0.0, 1.0, name="risk", where="Mandel's statistics")
    if count < fewest:
        raise InvalidInput(
            f"{count} laboratories or replicates have no critical value.",
            where="Mandel's statistics",
            remedy=f"Give at least {fewest}.",
        )
