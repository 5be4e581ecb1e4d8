"""Indices of values that are not normal, or partly open, by the percentiles of a fitted family."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from spc.capability.families import FAMILIES, Family, Fit, fit
from spc.capability.intervals import Interval
from spc.capability.limits import limits_on_scale
from spc.charts.refusals import refuse_outside
from spc.errors import InvalidInput, NoSpread, NotPositive, TooFewLots

Floats = NDArray[np.float64]

# The natural spread of a normal distribution holds all but 0.135 % on each side.
TAIL: Final = float(stats.norm.sf(3.0))
PERCENTILES: Final = (TAIL, 0.5, 1.0 - TAIL)
FEWEST_LOTS: Final = 3
STEP: Final = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Ratios:
    """Distances between limits and median in natural spreads; infinite where there is no limit.

    Attributes
    ----------
    pp, ppl, ppu
        Between the limits, and from the median to the lower and to the upper one.
    """

    pp: float
    ppl: float
    ppu: float

    @property
    def ppk(self) -> float:
        """To the nearer limit."""
        return min(self.ppl, self.ppu)


@dataclass(frozen=True, slots=True, kw_only=True)
class PercentileCapability:
    """How well a stream of lots that is not normal fits between its limits.

    Attributes
    ----------
    pp, ppk
        By the percentiles; `pp` is None with one limit only.
    pp_interval, ppk_interval
        At `confidence`, two-sided, for many lots.
    low, median, high
        The 0.135 %, 50 % and 99.865 % points of the fitted distribution.
    expected_below, expected_above
        Share of lots beyond each limit by the fitted distribution.
    size, open_readings
        Number of lots, and how many of them are known only to lie in a range.
    family, log_likelihood
        Of the fit.
    confidence
        Of the intervals.
    """

    pp: float | None
    ppk: float
    pp_interval: Interval | None
    ppk_interval: Interval
    low: float
    median: float
    high: float
    expected_below: float
    expected_above: float
    size: int
    open_readings: int
    family: Family
    log_likelihood: float
    confidence: float

    @property
    def expected_outside(self) -> float:
        """Share of lots outside the limits, both sides together."""
        return self.expected_below + self.expected_above


def percentile_indices(
    x: ArrayLike,
    *,
    high: ArrayLike | None = None,
    lower: float | None = None,
    upper: float | None = None,
    family: Family = "lognormal",
    confidence: float = 0.95,
) -> PercentileCapability:
    """Pp and Ppk of values that are not normal, some of which may be open.

    Parameters
    ----------
    x : shape (lots,)
        One value per lot, any unit; the lower end of an open reading (``-inf`` or 0 below the
        quantification limit).
    high : shape (lots,)
        Upper ends, equal to `x` where a reading is exact, ``inf`` above the range; None if all
        are exact.
    lower, upper
        Limits in the unit of `x`; None where there is none.
    family
        ``"normal"``, ``"lognormal"``, ``"Weibull"`` or ``"gamma"``.
    confidence
        Of the intervals.

    Returns
    -------
    PercentileCapability

    Raises
    ------
    TooFewLots
        If there are fewer than three lots.
    NoSpread
        If every reading is the same.
    NotPositive
        If a family that starts at 0 meets an exact value of zero or less.
    InvalidInput
        If there is no limit, the limits are crossed, ends are missing or reversed, the family is
        not known, or the readings do not settle the fit.

    Notes
    -----
    With few lots the extreme percentiles are those of the family and not of the lots, so name it
    from what is known of the characteristic.  An open reading enters with the chance of its range
    and is never replaced by a value.  Intervals by the curvature of the likelihood.

    References
    ----------
    ISO 22514-2, percentile method: (U - L) / (X99.865 - X0.135), and to each limit from the
    median.
    """
    refuse_outside(confidence, 0.0, 1.0, name="confidence", where="capability")
    between = limits_on_scale(lower, upper, "linear")
    limits = between.lower, between.upper
    low, top = _readings(x, x if high is None else high, family)
    found = fit(low, top, family=family)
    points = found.quantiles(np.array(PERCENTILES))
    at = percentile_ratios(points, *limits)
    below, above = found.shares_beyond(*limits)
    spread, *sides = _intervals(found, at, limits, confidence)
    nearer = [each for each in sides if each is not None]
    return PercentileCapability(
        pp=None if spread is None else at.pp,
        ppk=at.ppk,
        pp_interval=spread,
        ppk_interval=Interval(
            low=min(each.low for each in nearer), high=min(each.high for each in nearer)
        ),
        low=float(points[0]),
        median=float(points[1]),
        high=float(points[2]),
        expected_below=below,
        expected_above=above,
        size=low.size,
        open_readings=int((low != top).sum()),
        family=family,
        log_likelihood=found.log_likelihood,
        confidence=confidence,
    )


def percentile_ratios(percentiles: ArrayLike, lower: float, upper: float) -> Ratios:
    """Capability by the 0.135 %, 50 % and 99.865 % points of a distribution.

    Parameters
    ----------
    percentiles : shape (3,)
        Rising.
    lower, upper
        Limits; infinite where there is none.

    Returns
    -------
    Ratios

    References
    ----------
    ISO 22514-2, percentile method.
    """
    low, middle, high = np.asarray(percentiles, dtype=np.float64).tolist()
    return Ratios(
        pp=(upper - lower) / (high - low),
        ppl=(middle - lower) / (middle - low),
        ppu=(upper - middle) / (high - middle),
    )


def _intervals(
    found: Fit, at: Ratios, limits: tuple[float, float], confidence: float
) -> list[Interval | None]:
    """Of pp, ppl and ppu: how they move with each parameter, and how far that may be off."""

    def ratios(parameters: Floats) -> Floats:
        points = found.quantiles_at(parameters, np.array(PERCENTILES))
        there = percentile_ratios(points, *limits)
        return np.array([there.pp, there.ppl, there.ppu])

    steps = np.diag(STEP * (1.0 + np.abs(found.parameters)))
    middle = found.parameters
    with np.errstate(invalid="ignore"):
        slope = np.array(
            [(ratios(middle + one) - ratios(middle - one)) / (2.0 * one.max()) for one in steps]
        )
        variance = np.einsum("pi,pq,qi->i", slope, found.covariance, slope)
    reach = float(stats.norm.ppf(0.5 + confidence / 2.0)) * np.sqrt(variance)
    return [
        Interval(low=value - half, high=value + half) if math.isfinite(value) else None
        for value, half in zip((at.pp, at.ppl, at.ppu), reach.tolist(), strict=True)
    ]


def _readings(x: ArrayLike, high: ArrayLike, family: str) -> tuple[Floats, Floats]:
    low, top = np.array(x, dtype=np.float64), np.array(high, dtype=np.float64)
    if family not in FAMILIES or low.ndim != 1 or low.shape != top.shape or not np.all(low <= top):
        raise InvalidInput(
            f"readings of shape {low.shape} and {top.shape} have no {family} capability.",
            where="capability",
            remedy=f"Give both ends of every reading in order; families: {', '.join(FAMILIES)}.",
        )
    if low.size < FEWEST_LOTS:
        raise TooFewLots(needed=FEWEST_LOTS, given=low.size, where="capability")
    start = -math.inf if family == "normal" else 0.0
    _refuse_beyond(low, top, start)
    if np.all(low == low[0]) and np.all(top == top[0]):
        raise NoSpread(value=float(top[0]), lots=low.size, where="capability")
    return low, top


def _refuse_beyond(low: Floats, top: Floats, start: float) -> None:
    below = np.flatnonzero(top <= start)
    if below.size and start == 0.0:
        at = int(below[0])
        raise NotPositive(value=float(top[at]), position=at, where="capability")
    silent = np.flatnonzero(((low <= start) & (top == math.inf)) | (np.isinf(low) & (low == top)))
    if silent.size:
        raise InvalidInput(
            f"the reading at position {silent[0]} says nothing of its value.",
            where="capability",
            remedy="Leave out lots without a usable reading.",
        )
