"""What a baseline might be looked at for, before it is frozen: shown, never applied."""

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special, stats

from spc.charts.changepoint import ChangePoint, change_point
from spc.charts.limits import on_log_scale
from spc.charts.lots import Scale
from spc.charts.outlying import extreme_deviates
from spc.charts.refusals import refuse_outside, spread_lots
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

FEWEST_LOTS: Final = 8
# Rule of thumb: with fewer lots a test of shape passes nearly anything.
FEWEST_FOR_SHAPE: Final = 20
# Rule of thumb: a baseline with more outlying lots than this is not one.
LARGEST_SHARE_OUTLYING: Final = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """Whether lots look normal as they are, or in logarithms.

    Attributes
    ----------
    linear_p, log_p
        Chance of a shape at least as odd if the values, or their logarithms, were normal;
        `log_p` is NaN if a value is zero or negative.
    better
        The scale whose shape is the less odd.
    decided
        Whether one scale is refused at the stated risk and the other is not; else the data
        do not choose, and what is known of the characteristic should.
    few
        Whether there are too few lots for the test to refuse much.
    """

    linear_p: float
    log_p: float
    better: Scale
    decided: bool
    few: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Autocorrelation:
    """How much each lot resembles the one before.

    Attributes
    ----------
    value
        Lag-one autocorrelation of the lots given.
    lower, upper
        Approximate confidence interval, corrected for the bias of few lots.
    notable
        Whether the interval leaves out zero.
    """

    value: float
    lower: float
    upper: float
    notable: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Suggestions:
    """What to look at in a baseline; nothing of it has been acted upon.

    Attributes
    ----------
    outlying : bool, shape (lots,)
        Lots far from the others.
    shape
        Linear or log scale.
    autocorrelation
        Whether lots follow each other.
    change
        Where the mean moved, if it did: there always is a most likely lot.
    moved
        Whether such a change is seldom seen in steady lots, at the stated risk.
    size
        Number of lots looked at.
    scale
        On which outlying lots, autocorrelation and change were looked for.
    risk
        Chance that each of them is seen in steady normal lots.
    """

    outlying: NDArray[np.bool_]
    shape: Shape
    autocorrelation: Autocorrelation
    change: ChangePoint
    moved: bool
    size: int
    scale: Scale
    risk: float


def suggest(x: ArrayLike, *, scale: Scale = "linear", risk: float = 0.05) -> Suggestions:
    """What a person might look at before freezing a baseline.

    Parameters
    ----------
    x : shape (lots,)
        One value per lot in order of receipt, any unit; finite.
    scale
        On which outlying lots, autocorrelation and a change are looked for.
    risk
        Chance of each suggestion in steady normal lots.

    Returns
    -------
    Suggestions
        Flags and figures; the values are left as they are.

    Raises
    ------
    TooFewLots
        If fewer than eight lots are given.
    NoSpread
        If all values are equal.
    NotPositive
        If a value on log scale is zero or negative.
    InvalidInput
        If `x` is not one-dimensional or not finite, `scale` is unknown, or `risk` is not
        between 0 and a half.

    Notes
    -----
    Outlying lots by the generalised extreme Studentized deviate, which several outliers
    cannot hide from, up to a fifth of the lots.  Shape by Shapiro and Wilk's W on both
    scales.  Autocorrelation with the standard error of a first-order process.  A change by
    `change_point`.  Each is a hint: outliers, changes and skewness can each look like
    another.

    References
    ----------
    Rosner, B. (1983), Technometrics 25, 165-172.
    Shapiro, S. S. and Wilk, M. B. (1965), Biometrika 52, 591-611.
    Kendall, M. G. (1954), Biometrika 41, 403-404: bias of the autocorrelation.
    """
    if scale not in ("linear", "log"):
        raise InvalidInput(
            f"scale {scale!r} is not known.", where="suggest", remedy='Use "linear" or "log".'
        )
    refuse_outside(risk, 0.0, 0.5, name="risk", where="suggest")
    given = spread_lots(x, where="suggest", fewest=FEWEST_LOTS)
    values = on_log_scale(given) if scale == "log" else given
    change = change_point(values)
    return Suggestions(
        outlying=_outlying(values, risk),
        shape=_shape(given, risk),
        autocorrelation=_autocorrelation(values, risk),
        change=change,
        moved=change.p_value < risk,
        size=values.size,
        scale=scale,
        risk=risk,
    )


def _outlying(x: Floats, risk: float) -> NDArray[np.bool_]:
    most = max(1, int(LARGEST_SHARE_OUTLYING * x.size))
    return extreme_deviates(x, most=most, risk=risk).outlying


def _shape(x: Floats, risk: float) -> Shape:
    linear = float(stats.shapiro(x).pvalue)
    log = float(stats.shapiro(np.log(x)).pvalue) if np.all(x > 0.0) else math.nan
    better: Literal["linear", "log"] = "log" if log > linear else "linear"
    worse_p, better_p = (linear, log) if better == "log" else (log, linear)
    return Shape(
        linear_p=linear,
        log_p=log,
        better=better,
        decided=worse_p < risk <= better_p,
        few=x.size < FEWEST_FOR_SHAPE,
    )


def _autocorrelation(x: Floats, risk: float) -> Autocorrelation:
    off = x - x.mean()
    value = float(off[1:] @ off[:-1] / (off @ off))
    # Freed from bias, the value is stretched, and its interval with it.
    stretch = 1.0 + 4.0 / x.size
    middle = stretch * value + 1.0 / x.size
    error = stretch * math.sqrt((1.0 - value**2) / x.size)
    half = -float(special.ndtri(risk / 2.0)) * error
    lower, upper = max(-1.0, middle - half), min(1.0, middle + half)
    return Autocorrelation(
        value=value, lower=lower, upper=upper, notable=lower > 0.0 or upper < 0.0
    )
