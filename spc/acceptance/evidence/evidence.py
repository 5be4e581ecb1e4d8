"""What was measured of one characteristic of one lot, and the mean that follows from it."""

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc import charts
from spc.acceptance.methods import Method
from spc.acceptance.specification import Scale
from spc.charts.lots import WIDEST_EXACT
from spc.errors import InvalidInput

# Below this many degrees of freedom a pooled within-lot spread is a rumour; the planning value is
# then the floor.
FEWEST_DEGREES: Final = 5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Readings:
    """The current readings of one characteristic of one lot by one method.

    Attributes
    ----------
    low, high : shape (readings,)
        Each reading as an interval in `unit`: equal when exact, (0, x) below the quantification
        limit, (x, inf) above the calibrated range.
    sample : shape (readings,)
        Integer code of the sample, ascending.
    basis
        ``"as-is"``, ``"dry"``, ``"unstated"`` or empty.
    age_days : shape (readings,)
        Days since each was measured, NaN where no one wrote the day down; None where age is not
        looked at.
    """

    characteristic: str
    unit: str
    method: Method
    basis: str
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    sample: NDArray[np.int64]
    age_days: NDArray[np.float64] | None = None

    @property
    def above_range(self) -> int:
        """How many readings lie above the calibrated range."""
        return int(np.isinf(self.high).sum())


@dataclass(frozen=True, slots=True, kw_only=True)
class Within:
    """The spread between samples of one lot, on the scale of the line.

    Attributes
    ----------
    sigma
        Standard deviation; NaN when nothing is known.
    degrees
        Degrees of freedom it rests on; 0 for a planning value.
    """

    sigma: float
    degrees: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LotMean:
    """The mean of a lot, with what is not known of it.

    Attributes
    ----------
    low, high
        The mean in `unit` with open readings at their nearest and their farthest; equal when no
        reading is open.
    uncertainty
        Standard uncertainty on `scale`: a share of the value where that is log.
    sampling, method_part
        Its two parts: from the samples drawn, and from the method.
    within
        Spread between samples that the sampling part rests on.
    """

    characteristic: str
    unit: str
    scale: Scale
    method: Method
    low: float
    high: float
    uncertainty: float
    sampling: float
    method_part: float
    within: Within
    samples: int
    readings: int

    @property
    def is_open(self) -> bool:
        """Whether the mean is known on one side only."""
        return math.isinf(self.high) or self.low <= 0.0 < self.high

    @property
    def value(self) -> float:
        """The mean in `unit`; the known end where the other is open."""
        if self.low == self.high or math.isinf(self.high):
            return self.low
        return self.high if self.low <= 0.0 else (self.low + self.high) / 2.0

    @property
    def uncertainty_in_unit(self) -> float:
        """Standard uncertainty in `unit`."""
        return self.uncertainty * abs(self.value) if self.scale == "log" else self.uncertainty


def lot_mean(
    readings: Readings, *, scale: Scale, within: Within, planning_cv: float | None = None
) -> LotMean:
    """The lot's mean and its standard uncertainty.

    Parameters
    ----------
    readings
        At least one.
    scale
        On ``"log"`` the mean is geometric and the uncertainty a share of it.
    within
        Spread between samples known from this supplier's other lots; pooled with this lot's own.
    planning_cv
        Relative spread between samples to plan with while fewer than `FEWEST_DEGREES` degrees of
        freedom are known; the larger of the two is used, and never less than the repeatability.

    Returns
    -------
    LotMean
        In the unit of the readings.

    Raises
    ------
    InvalidInput
        If there is no reading, one has a missing or reversed end, or the replicates of a sample
        are not neighbours.

    Notes
    -----
    Open readings show no spread of their own: six samples above the calibrated range are all
    stored with the same known end, and are not alike for it.

    References
    ----------
    JCGM 100:2008, 4.2.3 (mean of n) and 5.1.2 (sum of independent parts).
    """
    _check(readings)
    readings = corrected(readings)
    low, spread = _mean(readings.low, readings.sample, scale)
    high = low
    if not np.array_equal(readings.low, readings.high):
        high, _ = _mean(readings.high, readings.sample, scale)
    samples = int(np.unique(readings.sample).size)
    centre = low if math.isinf(high) else (low + high) / 2.0
    exact = np.allclose(readings.low, readings.high, rtol=WIDEST_EXACT, atol=0.0)
    known = _pooled(within, own=spread if exact else math.nan, samples=samples)
    sigma = _with_floor(known, readings.method, planning_cv, scale=scale, at=centre)
    sampling = sigma / math.sqrt(samples)
    method_part = readings.method.on_scale(
        readings.method.standard_uncertainty, scale=scale, at=centre
    )
    return LotMean(
        characteristic=readings.characteristic,
        unit=readings.unit,
        scale=scale,
        method=readings.method,
        low=low,
        high=high,
        uncertainty=math.hypot(sampling, method_part),
        sampling=sampling,
        method_part=method_part,
        within=Within(sigma=sigma, degrees=known.degrees),
        samples=samples,
        readings=int(readings.low.size),
    )


def corrected(readings: Readings) -> Readings:
    """The readings without the known bias of their method; open ends stay open.

    Parameters
    ----------
    readings
        As measured.

    Returns
    -------
    Readings
        The same ones where the method has no known bias.

    References
    ----------
    JCGM 100:2008, 3.2.3: a result is corrected for every known systematic effect.
    """
    method = readings.method
    if method.bias == 0.0:
        return readings
    low = np.where(readings.low > 0.0, method.unbiased(readings.low), readings.low)
    return replace(readings, low=low, high=method.unbiased(readings.high))


def _check(readings: Readings) -> None:
    if readings.low.size and np.all(readings.low <= readings.high):
        return
    raise InvalidInput(
        f"{readings.characteristic} by {readings.method.method} has no reading, or one with a"
        " missing or reversed end.",
        where="lot mean",
        remedy="Leave out what was not measured, and give every reading both its ends.",
    )


def _mean(
    values: NDArray[np.float64], sample: NDArray[np.int64], scale: Scale
) -> tuple[float, float]:
    """Mean of one end of the readings, and the spread between samples of that end."""
    if not np.all(np.isfinite(values)):
        return math.inf, math.nan
    if scale == "log" and np.any(values <= 0.0):
        return 0.0, math.nan
    lots = charts.lot_values(values, values, sample, np.zeros(1, dtype=np.int64), scale=scale)
    return float(lots.value[0]), float(lots.spread[0])


def _pooled(within: Within, *, own: float, samples: int) -> Within:
    """Pool two variances by their degrees of freedom."""
    if samples < 2 or not math.isfinite(own):
        return within
    if within.degrees == 0 or not math.isfinite(within.sigma):
        return Within(sigma=own, degrees=samples - 1)
    degrees = within.degrees + samples - 1
    squares = within.degrees * within.sigma**2 + (samples - 1) * own**2
    return Within(sigma=math.sqrt(squares / degrees), degrees=degrees)


def _with_floor(
    known: Within, method: Method, planning_cv: float | None, *, scale: Scale, at: float
) -> float:
    """Too little is known of the spread: plan with no less than the method's repeatability."""
    if known.degrees >= FEWEST_DEGREES:
        return known.sigma
    planned = 0.0 if planning_cv is None else planning_cv * (1.0 if scale == "log" else abs(at))
    floor = max(planned, method.on_scale(method.repeatability, scale=scale, at=at))
    return max(floor, known.sigma) if math.isfinite(known.sigma) else floor
