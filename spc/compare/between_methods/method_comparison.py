"""Two methods on the same lots: the line between them, their differences, and what to doubt."""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.capability.intervals import Interval
from spc.charts import on_log_scale
from spc.charts.lots import Scale
from spc.charts.refusals import refuse_outside, spread_lots
from spc.compare.between_methods.deming import deming_line, levels, weighted_deming_line
from spc.compare.between_methods.differences import Agreement, Trend, agreement, trend
from spc.compare.between_methods.fitted_line import FittedLine
from spc.compare.between_methods.linearity import Linearity, linearity
from spc.compare.between_methods.passing_bablok import passing_bablok_line
from spc.errors import InvalidInput

Floats = NDArray[np.float64]
Kind = Literal["deming", "weighted-deming", "passing-bablok", "differences"]
Doubt = Literal["few lots", "narrow range", "not straight", "differences grow"]

KINDS: Final = ("deming", "weighted-deming", "passing-bablok", "differences")
# Of a line and its scatter, with enough to spare for intervals by rank.
FEWEST_LOTS: Final = 5
# Rule of thumb, no source: a line through fewer lots turns with each of them.
FEW_LOTS: Final = 20
# Below it the errors are no longer small against the range.  Common in clinical chemistry; from
# memory.
LEAST_CORRELATION: Final = 0.975
RISK: Final = 0.05


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MethodComparison:
    """How the values of one method follow from those of another.

    Attributes
    ----------
    kind, scale
        Of line, and whether it joins values or their natural logarithms.
    variance_ratio
        Variance of the error of y over that of x, as given; it moves the Deming lines only.
    line
        y = intercept + slope x, with intervals and standard errors.
    residual_sd
        Of y about the line, with two degrees fewer than lots (one for differences): in unit, of
        logarithms, or for the weighted line as a share of the level.
    agreement
        Bias of y against x and limits of agreement.
    proportional
        How y - x grows with the mean of both.
    linearity
        Whether lots scatter about the line alike along its length.
    correlation
        Of x and y: high where the range is wide, and no measure of agreement.
    difference, middle : shape (lots,)
        y - x and the mean of both, for the plot of differences.
    lowest, highest
        Range of y, in unit.
    lots, confidence
        What it rests on, and confidence of each interval.
    doubts
        What speaks against relying on the line.
    """

    kind: Kind
    scale: Scale
    variance_ratio: float
    line: FittedLine
    residual_sd: float
    agreement: Agreement
    proportional: Trend | None
    linearity: Linearity
    correlation: float
    difference: Floats
    middle: Floats
    lowest: float
    highest: float
    lots: int
    confidence: float
    doubts: tuple[Doubt, ...]

    @property
    def slope(self) -> float:
        """Of the line; 1 for differences."""
        return self.line.slope

    @property
    def intercept(self) -> float:
        """Of the line; the bias for differences."""
        return self.line.intercept


def methods(
    x: ArrayLike,
    y: ArrayLike,
    *,
    variance_ratio: float = 1.0,
    kind: Kind = "deming",
    confidence: float = 0.95,
    scale: Scale = "linear",
) -> MethodComparison:
    """Compare two methods on the same lots.

    Parameters
    ----------
    x, y : shape (lots,)
        Values of the reference method and of the other one, lot by lot, in one unit and before
        any correction for bias; finite.
    variance_ratio
        Variance of the error of y over that of x (`error_ratio` gives it from repeatabilities).
        Only the Deming kinds use it: differences take the slope to be 1, and the Passing-Bablok
        line takes errors in the ratio of the slope.
    kind
        ``"deming"`` where both methods scatter alike all along, ``"weighted-deming"`` where each
        scatters by a constant share, ``"passing-bablok"`` where nothing is known of the scatter
        or single lots lie far out, ``"differences"`` where the slope is taken to be 1.
    confidence
        Of each interval.
    scale
        On ``"log"`` the logarithms are compared: differences are then ratios, and a slope other
        than 1 a power.

    Returns
    -------
    MethodComparison

    Raises
    ------
    TooFewLots
        If there are fewer than five lots.
    NoSpread
        If all values of one method are equal.
    NotPositive
        If a value is zero or less on log scale or for the weighted line.
    InvalidInput
        If lengths differ, a value is not finite, an argument is not possible, or no line joins
        the two.

    Notes
    -----
    A least-squares line of y on x is not offered: the error of x flattens it.  Within one
    material the range of heat is seldom wide enough for a line, and a ratio (differences on log
    scale) says all there is.

    References
    ----------
    See `deming_line`, `weighted_deming_line`, `passing_bablok_line`, `agreement`, `linearity`.
    """
    given = spread_lots(x, where="methods, x"), spread_lots(y, where="methods, y")
    _check(given, kind, scale)
    refuse_outside(variance_ratio, 0.0, np.inf, name="variance ratio", where="methods")
    refuse_outside(confidence, 0.0, 1.0, name="confidence", where="methods")
    first, second = (on_log_scale(v) if scale == "log" else v for v in given)
    difference, middle = second - first, (first + second) / 2.0
    apart = agreement(difference, confidence=confidence)
    line = _line(first, second, kind, variance_ratio, apart)
    grows = trend(middle, difference, confidence=confidence)
    bends = linearity(first, second, slope=line.slope, intercept=line.intercept)
    correlation = float(np.corrcoef(first, second)[0, 1])
    return MethodComparison(
        kind=kind,
        scale=scale,
        variance_ratio=variance_ratio,
        line=line,
        residual_sd=_residual_sd(first, second, line, kind, variance_ratio),
        agreement=apart,
        proportional=grows,
        linearity=bends,
        correlation=correlation,
        difference=difference,
        middle=middle,
        lowest=float(given[1].min()),
        highest=float(given[1].max()),
        lots=first.size,
        confidence=confidence,
        doubts=_doubts(kind, first.size, correlation, bends, grows),
    )


def _check(given: tuple[Floats, Floats], kind: str, scale: str) -> None:
    if kind not in KINDS:
        raise _refused(f"kind {kind!r} is not known.", f"Use one of: {', '.join(KINDS)}.")
    if scale not in ("linear", "log"):
        raise _refused(f"scale {scale!r} is not known.", 'Use "linear" or "log".')
    if kind == "weighted-deming" and scale == "log":
        raise _refused("on log scale a constant share is a constant already.", 'Use kind "deming".')
    if given[0].size != given[1].size:
        raise _refused(
            f"x has {given[0].size} lots and y {given[1].size}.", "Give each lot both values."
        )
    spread_lots(given[0], where="methods", fewest=FEWEST_LOTS)
    if kind == "weighted-deming":
        on_log_scale(np.concatenate(given))


def _line(x: Floats, y: Floats, kind: Kind, variance_ratio: float, apart: Agreement) -> FittedLine:
    confidence = apart.confidence
    if kind == "deming":
        return deming_line(x, y, variance_ratio=variance_ratio, confidence=confidence)
    if kind == "weighted-deming":
        return weighted_deming_line(x, y, variance_ratio=variance_ratio, confidence=confidence)
    if kind == "passing-bablok":
        return passing_bablok_line(x, y, confidence=confidence)
    return FittedLine(
        slope=1.0,
        intercept=apart.bias,
        slope_interval=Interval(low=1.0, high=1.0),
        intercept_interval=apart.bias_interval,
        slope_error=0.0,
        intercept_error=apart.bias_error,
        covariance=0.0,
    )


def _residual_sd(
    x: Floats, y: Floats, line: FittedLine, kind: Kind, variance_ratio: float
) -> float:
    off = y - line.intercept - line.slope * x
    if kind == "weighted-deming":
        at = np.array([[line.slope]]), np.array([[line.intercept]])
        off = off / levels(x, y, *at, variance_ratio)[0]
    return float(np.sqrt(off @ off / (off.size - (1 if kind == "differences" else 2))))


def _doubts(
    kind: Kind, lots: int, correlation: float, bends: Linearity, grows: Trend | None
) -> tuple[Doubt, ...]:
    is_line = kind != "differences"
    seen: dict[Doubt, bool] = {
        "few lots": lots < FEW_LOTS,
        "narrow range": is_line and correlation < LEAST_CORRELATION,
        "not straight": is_line and bends.p_value < RISK,
        "differences grow": not is_line and grows is not None and grows.p_value < RISK,
    }
    return tuple(doubt for doubt, holds in seen.items() if holds)


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="methods", remedy=remedy)
