"""Whether a supplier's new crop differs from the crops before, and whether it moves on."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from spc.capability.intervals import Interval
from spc.charts import on_log_scale
from spc.charts.lots import Scale
from spc.charts.refusals import refuse_unfinished
from spc.errors import InvalidInput

# Fewer lots on either side cannot tell a crop from a lot.
FEWEST_LOTS: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class CropDrift:
    """The newest crop against the ones before.

    Attributes
    ----------
    crop, lots, before
        The newest crop year, how many lots it has, and how many lots the earlier crops have.
    change, interval, p_value
        Mean of the newest crop less that of the earlier ones, with its interval and the chance of
        such a difference where there is none: on log scale a share, else in unit.
    per_lot, per_lot_interval
        Change from each lot of the newest crop to the next: on log scale a share, else in unit.
    enough
        Whether both sides have `FEWEST_LOTS`; the numbers are NaN where they have not.
    """

    crop: int
    lots: int
    before: int
    change: float
    interval: Interval
    p_value: float
    per_lot: float
    per_lot_interval: Interval
    enough: bool


def crop_drift(
    value: ArrayLike, crop_year: ArrayLike, *, scale: Scale = "linear", confidence: float = 0.95
) -> CropDrift:
    """Compare the newest crop of one supplier with the crops before it.

    Parameters
    ----------
    value : shape (lots,)
        In order of receipt.
    crop_year : shape (lots,)
        Year of harvest; lots without one (NaN) are left out.
    scale
        On ``"log"`` changes are shares.
    confidence
        Of the intervals.

    Returns
    -------
    CropDrift

    Raises
    ------
    InvalidInput
        If a value is missing, shapes differ, or no lot has a crop year.
    NotPositive
        If a value on log scale is zero or negative.

    References
    ----------
    Welch, B. L. (1947), Biometrika 34, 28-35: means with unequal variances.
    """
    values, years = np.asarray(value, dtype=np.float64), np.asarray(crop_year, dtype=np.float64)
    if values.shape != years.shape:
        raise InvalidInput(
            "values and crop years differ in length.",
            where="crop_drift",
            remedy="Give each lot its year of harvest.",
        )
    known = np.isfinite(years)
    if not known.any():
        raise InvalidInput(
            "no lot has a crop year.",
            where="crop_drift",
            remedy="Add the year of harvest to the lots' file.",
        )
    refuse_unfinished(values[known], where="crop_drift")
    worked = on_log_scale(values[known]) if scale == "log" else values[known]
    newest = years[known] == years[known].max()
    return _compared(
        worked[newest], worked[~newest], int(years[known].max()), scale=scale, level=confidence
    )


def _compared(
    new: NDArray[np.float64],
    old: NDArray[np.float64],
    crop: int,
    *,
    scale: Scale,
    level: float,
) -> CropDrift:
    enough = min(new.size, old.size) >= FEWEST_LOTS
    change = p_value = slope = np.nan
    ends = slopes = (np.nan, np.nan)
    if enough:
        tested = stats.ttest_ind(new, old, equal_var=False)
        between = tested.confidence_interval(level)
        change, p_value = float(new.mean() - old.mean()), float(tested.pvalue)
        ends = (float(between.low), float(between.high))
        slope, slopes = _slope(new, level)
    shown = np.expm1 if scale == "log" else np.asarray
    return CropDrift(
        crop=crop,
        lots=new.size,
        before=old.size,
        change=float(shown(change)),
        interval=Interval(low=float(shown(ends[0])), high=float(shown(ends[1]))),
        p_value=p_value,
        per_lot=float(shown(slope)),
        per_lot_interval=Interval(low=float(shown(slopes[0])), high=float(shown(slopes[1]))),
        enough=enough,
    )


def _slope(new: NDArray[np.float64], level: float) -> tuple[float, tuple[float, float]]:
    """Least squares over the lots in order, with its interval."""
    line = stats.linregress(np.arange(new.size, dtype=np.float64), new)
    reach = float(stats.t.ppf(0.5 + level / 2.0, new.size - 2)) * float(line.stderr)
    slope = float(line.slope)
    return slope, (slope - reach, slope + reach)
