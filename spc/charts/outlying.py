"""Values that lie farther from the others than chance explains: found, never taken out."""

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from spc.charts.refusals import ROUNDING, finite_lots, refuse_outside
from spc.errors import InvalidInput

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ExtremeDeviates:
    """The values that lie farthest out, one after the other.

    Attributes
    ----------
    statistic : shape (steps,)
        Distance of the farthest value from the mean of those left, in their standard deviations.
        Fewer steps than asked for where the values left are all equal.
    critical : shape (steps,)
        What chance exceeds at `risk` in normal values without outliers.
    position : shape (steps,)
        Which value it was, counted from 0.
    count
        How many are outlying: all up to the last step whose statistic exceeds its critical value.
    size, risk
        Number of values, and the chance that any is called outlying where none is.
    """

    statistic: Floats
    critical: Floats
    position: NDArray[np.int64]
    count: int
    size: int
    risk: float

    @property
    def outlying(self) -> NDArray[np.bool_]:
        """Which values are outlying; shape (values,)."""
        marks = np.zeros(self.size, dtype=np.bool_)
        marks[self.position[: self.count]] = True
        return marks


def extreme_deviates(x: ArrayLike, *, most: int, risk: float = 0.05) -> ExtremeDeviates:
    """Several outliers at once, none of which can hide behind another.

    Parameters
    ----------
    x : shape (values,)
        Any unit; finite, at least three.
    most
        How many outliers to look for, at least one and two fewer than there are values.
    risk
        Chance that normal values without outliers show one.

    Returns
    -------
    ExtremeDeviates
        The values are left as they are.

    Raises
    ------
    InvalidInput
        If there are too few values, one is not finite, `most` is too large, or `risk` is not
        between 0 and a half.

    Notes
    -----
    The stated risk holds for 25 values or more, and nearly for 15.  With `most` of one it is the
    two-sided test of Grubbs, for any number of values.

    References
    ----------
    Rosner, B. (1983), Technometrics 25, 165-172: generalised extreme Studentized deviate.
    Grubbs, F. E. (1969), Technometrics 11, 1-21.
    """
    values = finite_lots(x, where="extreme deviates", fewest=3)
    refuse_outside(risk, 0.0, 0.5, name="risk", where="extreme deviates")
    if not 1 <= most <= values.size - 2:
        raise InvalidInput(
            f"{most} outliers cannot be looked for among {values.size} values.",
            where="extreme deviates",
            remedy=f"Look for 1 to {values.size - 2}.",
        )
    left = values.copy()
    steps: list[tuple[float, float, int]] = []
    for n in range(values.size, values.size - most, -1):
        off = np.abs(left - np.nanmean(left))
        worst = int(np.nanargmax(off))
        deviation = float(np.nanstd(left, ddof=1))
        if deviation <= ROUNDING * np.abs(values).max():
            break
        steps.append((float(off[worst]) / deviation, largest_deviate(n, risk), worst))
        left[worst] = np.nan
    statistic, critical, position = np.array(steps, dtype=np.float64).reshape(-1, 3).T
    refused = np.flatnonzero(statistic > critical)
    return ExtremeDeviates(
        statistic=statistic,
        critical=critical,
        position=position.astype(np.int64),
        count=int(refused[-1]) + 1 if refused.size else 0,
        size=values.size,
        risk=risk,
    )


@cache
def largest_deviate(n: int, risk: float) -> float:
    """Largest deviation from the mean, in standard deviations, that chance explains.

    Parameters
    ----------
    n
        Number of values, at least three.
    risk
        Chance that `n` normal values show a larger one, on either side.

    Returns
    -------
    float

    References
    ----------
    Grubbs, F. E. (1969), Technometrics 11, 1-21; ISO 5725-2, 8.3.5.
    """
    t = float(stats.t.isf(risk / (2.0 * n), n - 2))
    return (n - 1) * t / math.sqrt(n * (n - 2 + t**2))
