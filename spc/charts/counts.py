"""Limits for what is counted: defects per lot, and nonconforming items among those inspected."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from spc.charts.refusals import finite_lots, refuse_outside
from spc.errors import InvalidInput, NoSpread

Floats = NDArray[np.float64]

FEWEST_LOTS: Final = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CountLimits:
    """Limits for counts, rates or proportions, by sigmas and by exact probabilities.

    Attributes
    ----------
    values : shape (lots,)
        What is plotted: count, count per unit of exposure, or proportion.
    center
        Mean rate or proportion of the baseline; with no exposure the mean count.
    sigma : shape (lots,)
        Standard deviation of each plotted value.
    lower, upper : shape (lots,)
        Limits `width` sigmas out, within what is possible.
    exact_lower, exact_upper : shape (lots,)
        Limits that a steady lot passes with a chance of at most `tail_risk` on each side.
    tail_risk
        Chance that a normal value lies over `width` sigmas out on one side.
    size
        Number of lots the limits rest on.
    width
        Distance from centre line to limit, in sigmas.

    Notes
    -----
    A value on a limit is not beyond it.  The exact limits are the narrowest values that can
    occur for which that chance holds, so on a side where `tail_risk` cannot be spent (a rate
    so low that zero is common) the lower limit is zero and no lot lies below it.
    """

    values: Floats
    center: float
    sigma: Floats
    lower: Floats
    upper: Floats
    exact_lower: Floats
    exact_upper: Floats
    tail_risk: float
    size: int
    width: float


def counts(c: ArrayLike, *, exposure: ArrayLike | None = None, width: float = 3.0) -> CountLimits:
    """Limits for numbers of defects, each lot looked at as closely as its exposure says.

    Parameters
    ----------
    c : shape (lots,)
        Whole numbers, such as insect fragments per lot.
    exposure : shape (lots,) or one number
        How much of each lot was looked at, in any one unit (kg, portions); if given, rates
        per unit are plotted.
    width
        Distance from centre line to limit, in sigmas.

    Returns
    -------
    CountLimits
        In counts, or in counts per unit of exposure.

    Raises
    ------
    TooFewLots
        If fewer than two lots are given.
    NoSpread
        If nothing was counted in any lot.
    InvalidInput
        If a count is not a whole number from zero up, an exposure is not positive and
        finite, lengths differ, or `width` is not positive.

    Notes
    -----
    Counts are taken as Poisson with one rate, so limits do not see a spread between lots
    beyond that of chance; where lots differ by nature, chart the rate by `individuals`.

    References
    ----------
    ISO 7870-2, charts for numbers of nonconformities.
    NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.3.1.
    """
    refuse_outside(width, 0.0, math.inf, name="width", where="counts")
    number = _whole(c, "counts")
    seen = _beside(1.0 if exposure is None else exposure, number, "counts")
    if not np.all((seen > 0.0) & np.isfinite(seen)):
        raise InvalidInput(
            "an exposure is not a positive number.",
            where="counts",
            remedy="Say how much of each lot was looked at.",
        )
    rate = _rate(number, seen, "counts")
    tail = float(stats.norm.sf(width))
    expected = rate * seen
    sigma = np.sqrt(rate / seen)
    return CountLimits(
        values=number / seen,
        center=rate,
        sigma=sigma,
        lower=np.maximum(0.0, rate - width * sigma),
        upper=rate + width * sigma,
        exact_lower=np.asarray(stats.poisson.ppf(tail, expected)) / seen,
        exact_upper=np.asarray(stats.poisson.isf(tail, expected)) / seen,
        tail_risk=tail,
        size=number.size,
        width=width,
    )


def proportions(
    nonconforming: ArrayLike, inspected: ArrayLike, *, width: float = 3.0
) -> CountLimits:
    """Limits for the proportion of nonconforming items among those inspected.

    Parameters
    ----------
    nonconforming : shape (lots,)
        Whole numbers, such as bags found damaged.
    inspected : shape (lots,) or one number
        How many items of each lot were inspected.
    width
        Distance from centre line to limit, in sigmas.

    Returns
    -------
    CountLimits
        In proportions, between 0 and 1.

    Raises
    ------
    TooFewLots
        If fewer than two lots are given.
    NoSpread
        If no item of any lot was nonconforming, or every one was.
    InvalidInput
        If a number is not whole, none was inspected, more were found than inspected, lengths
        differ, or `width` is not positive.

    Notes
    -----
    Numbers are taken as binomial with one proportion; the exact limits are for the number
    found, divided by the number inspected.

    References
    ----------
    ISO 7870-2, charts for proportions nonconforming.
    NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.3.2.
    """
    refuse_outside(width, 0.0, math.inf, name="width", where="proportions")
    found = _whole(nonconforming, "proportions")
    among = _whole(_beside(inspected, found, "proportions"), "proportions")
    if np.any(among == 0.0) or np.any(found > among):
        raise InvalidInput(
            "a lot has no item inspected, or more found than inspected.",
            where="proportions",
            remedy="Give the number inspected of each lot.",
        )
    share = _rate(found, among, "proportions")
    if share == 1.0:
        raise NoSpread(value=1.0, lots=found.size, where="proportions")
    tail = float(stats.norm.sf(width))
    sigma = np.sqrt(share * (1.0 - share) / among)
    return CountLimits(
        values=found / among,
        center=share,
        sigma=sigma,
        lower=np.maximum(0.0, share - width * sigma),
        upper=np.minimum(1.0, share + width * sigma),
        exact_lower=np.asarray(stats.binom.ppf(tail, among, share)) / among,
        exact_upper=np.asarray(stats.binom.isf(tail, among, share)) / among,
        tail_risk=tail,
        size=found.size,
        width=width,
    )


def _whole(x: ArrayLike, where: str) -> Floats:
    numbers = finite_lots(x, where=where, fewest=FEWEST_LOTS)
    refused = np.flatnonzero((numbers < 0.0) | (numbers != np.floor(numbers)))
    if refused.size:
        position = int(refused[0])
        raise InvalidInput(
            f"{numbers[position]:g} at position {position} is not a whole number from zero up.",
            where=where,
            remedy="Give what was counted.",
        )
    return numbers


def _beside(x: ArrayLike, numbers: Floats, where: str) -> Floats:
    """One value for each lot, or the same for all."""
    values = np.asarray(x, dtype=np.float64)
    if values.shape not in ((), numbers.shape):
        raise InvalidInput(
            f"{values.size} values stand beside {numbers.size} lots.",
            where=where,
            remedy="Give one number for each lot, or one for all.",
        )
    return np.broadcast_to(values, numbers.shape)


def _rate(number: Floats, among: Floats, where: str) -> float:
    rate = float(number.sum() / among.sum())
    if rate == 0.0:
        raise NoSpread(value=0.0, lots=number.size, where=where)
    return rate
