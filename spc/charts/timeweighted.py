"""Charts that remember earlier lots, so that a small shift adds up: EWMA and CUSUM."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import accumulate
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.charts.refusals import refuse_outside
from spc.charts.rules.patterns import TIE
from spc.errors import InvalidInput

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

NO_SHIFT: Final = -1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Weighted:
    """Exponentially weighted means, in the unit of the lots.

    Attributes
    ----------
    values : shape (lots,)
        Weighted mean after each lot.
    lower, upper : shape (lots,)
        Limits of each weighted mean.
    signals : shape (lots,)
        Whether it lies beyond them.
    weight
        Of the newest lot.
    width
        Distance from target to limit, in sigmas of the weighted mean.
    """

    values: Floats
    lower: Floats
    upper: Floats
    signals: Flags
    weight: float
    width: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cusum:
    """Cumulative sums of what lots deviate beyond the slack, in sigmas.

    Attributes
    ----------
    high, low : shape (lots,)
        Sum against a shift up, and against one down; neither is ever negative.
    signals : shape (lots,)
        Whether either sum exceeds `decision`.
    high_start, low_start : shape (lots,)
        Where that sum signals: index of the lot after the last one at which it was zero,
        the likely first lot of the shift.  -1 elsewhere.
    reference, decision, head_start
        Slack, height of a signal and height at the start, in sigmas.
    """

    high: Floats
    low: Floats
    signals: Flags
    high_start: Integers
    low_start: Integers
    reference: float
    decision: float
    head_start: float


def ewma(
    x: ArrayLike,
    *,
    target: float,
    sigma: float,
    weight: float = 0.2,
    width: float = 2.962,
    steady: bool = False,
) -> Weighted:
    """Exponentially weighted mean of the lots so far, with its limits.

    Parameters
    ----------
    x : shape (lots,)
        One value per lot in order of receipt, any unit; NaN for a lot without one.
    target
        Where the mean should be, and where the weighted mean begins; unit of `x`.
    sigma
        Standard deviation of one lot; unit of `x`.
    weight
        Of the newest lot, above 0 and at most 1.
    width
        Distance from target to limit, in sigmas of the weighted mean; the default pair
        runs 494 lots without a shift, or 500 with steady limits (`run_length_ewma`).
    steady
        Whether limits are final from the first lot on, or widen with the variance.

    Returns
    -------
    Weighted
        In the unit of `x`.

    Raises
    ------
    InvalidInput
        If `x` is not one-dimensional or holds an infinity, `target` is not finite, `sigma`
        or `width` is not positive, or `weight` is not above 0 and at most 1.

    Notes
    -----
    z = weight x + (1 - weight) z, with variance sigma^2 weight / (2 - weight)
    (1 - (1 - weight)^(2 lots)); the last factor is left out of steady limits.  At a gap
    the mean and its limits stay as they were and nothing signals.  A mean within 1e-9
    sigma of a limit lies on it and does not signal.

    References
    ----------
    Roberts, S. W. (1959), Technometrics 1(3), 239-250.
    Lucas, J. M. and Saccucci, M. S. (1990), Technometrics 32(1), 1-12.
    """
    refuse_outside(width, 0.0, math.inf, name="width", where="ewma")
    refuse_outside(weight, 0.0, math.nextafter(1.0, 2.0), name="weight", where="ewma")
    z = _scores(x, target, sigma, where="ewma")
    mean = _carried(z, lambda mean, lot: mean + weight * (lot - mean), 0.0)
    lots = np.cumsum(~np.isnan(z))
    half = np.full(z.size, width * math.sqrt(weight / (2.0 - weight)))
    if not steady:
        half *= np.sqrt(1.0 - (1.0 - weight) ** (2.0 * lots))
    return Weighted(
        values=target + sigma * mean,
        lower=target - sigma * half,
        upper=target + sigma * half,
        signals=(np.abs(mean) > half + TIE) & ~np.isnan(z),
        weight=weight,
        width=width,
    )


def cusum(
    x: ArrayLike,
    *,
    target: float,
    sigma: float,
    reference: float = 0.5,
    decision: float = 5.0,
    head_start: float = 0.0,
) -> Cusum:
    """Cumulative sums of the lots' deviations from the target, either way.

    Parameters
    ----------
    x : shape (lots,)
        One value per lot in order of receipt, any unit; NaN for a lot without one.
    target, sigma
        Where the mean should be, and the standard deviation of one lot; unit of `x`.
    reference
        Slack taken off each lot, in sigmas: half the shift to be found.
    decision
        Height above which a sum signals, in sigmas.
    head_start
        Height at which both sums begin, in sigmas, not as a share of `decision`; half of
        it is usual and finds a stream that starts off target sooner.

    Returns
    -------
    Cusum
        In sigmas.

    Raises
    ------
    InvalidInput
        If `x` is not one-dimensional or holds an infinity, `target` is not finite, `sigma`
        or `decision` is not positive, `reference` is negative, or `head_start` is not
        between 0 and `decision`.

    Notes
    -----
    high = max(0, high + z - reference), low = max(0, low - z - reference).  At a gap both
    stay as they were and nothing signals.  A sum within 1e-9 of `decision` lies on it and
    does not signal.  Sums go on after a signal; they are not set back, and so a shift back
    can make both signal at one lot.

    References
    ----------
    Page, E. S. (1954), Biometrika 41, 100-115.
    Lucas, J. M. and Crosier, R. B. (1982), Technometrics 24(3), 199-205.
    """
    refuse_outside(decision, 0.0, math.inf, name="decision", where="cusum")
    _check_within(reference, math.inf, "reference")
    _check_within(head_start, decision, "head start")
    z = _scores(x, target, sigma, where="cusum")
    high = _carried(z, lambda total, lot: max(0.0, total + lot - reference), head_start)
    low = _carried(z, lambda total, lot: max(0.0, total - lot - reference), head_start)
    high_start, low_start = (_starts(total, decision, z) for total in (high, low))
    return Cusum(
        high=high,
        low=low,
        signals=(high_start != NO_SHIFT) | (low_start != NO_SHIFT),
        high_start=high_start,
        low_start=low_start,
        reference=reference,
        decision=decision,
        head_start=head_start,
    )


def _scores(x: ArrayLike, target: float, sigma: float, *, where: str) -> Floats:
    refuse_outside(target, -math.inf, math.inf, name="target", where=where)
    refuse_outside(sigma, 0.0, math.inf, name="sigma", where=where)
    values = np.asarray(x, dtype=np.float64)
    if values.ndim != 1:
        raise InvalidInput(
            f"values have {values.ndim} dimensions, not one.",
            where=where,
            remedy="Give one value per lot.",
        )
    infinite = np.flatnonzero(np.isinf(values))
    if infinite.size:
        raise InvalidInput(
            f"value at position {infinite[0]} is infinite.",
            where=where,
            remedy="Use NaN for a lot without a usable value.",
        )
    return np.asarray((values - target) / sigma, dtype=np.float64)


def _carried(z: Floats, step: Callable[[float, float], float], begin: float) -> Floats:
    """A statistic after each lot; at a gap it is what it was."""
    observed = ~np.isnan(z)
    after = np.array(list(accumulate(z[observed].tolist(), step, initial=begin)))
    return np.asarray(after[np.cumsum(observed)], dtype=np.float64)


def _starts(total: Floats, decision: float, z: Floats) -> Integers:
    """Where the sum signals, index of the lot after the last one at which it was zero."""
    after_zero = np.where(total == 0.0, np.arange(1, total.size + 1), 0)
    signals = (total > decision + TIE) & ~np.isnan(z)
    return np.where(signals, np.maximum.accumulate(after_zero), NO_SHIFT)


def _check_within(value: float, high: float, name: str) -> None:
    if not 0.0 <= value <= high or math.isinf(value):
        raise InvalidInput(
            f"a {name} of {value:g} sigmas cannot be used.",
            where="cusum",
            remedy=f"Give zero or more, and at most {high:g}.",
        )
