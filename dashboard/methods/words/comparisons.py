"""How far off a method reads against another one."""

import math
from collections.abc import Mapping
from typing import Final

from dashboard.frame.words import count
from spc.charts.lots import Scale
from spc.compare.between_methods.differences import Trend
from spc.compare.between_methods.method_comparison import FEWEST_LOTS, Doubt, Kind, MethodComparison
from spc.digits import change, written

KINDS: Final[Mapping[Kind, str]] = {
    "differences": "differences",
    "weighted-deming": "weighted Deming line",
    "deming": "Deming line",
    "passing-bablok": "Passing–Bablok line",
}
KIND_SENTENCES: Final[Mapping[Kind, str]] = {
    "differences": (
        "Takes the slope to be 1 and looks at the differences alone: for one material, whose range"
        " is seldom wide enough for a line."
    ),
    "weighted-deming": (
        "A line for methods that each scatter by a constant share of the level, with the ratio of"
        " their errors taken from repeatability and number of samples."
    ),
    "deming": (
        "A line for methods that scatter by the same amount all along the range, with the ratio of"
        " their errors taken from repeatability and number of samples."
    ),
    "passing-bablok": (
        "A line through the middle of all slopes, for scatter that nothing is known of or single"
        " lots far out. It has intervals but no standard errors, so no correction can follow."
    ),
}
_DOUBTS: Final[Mapping[Doubt, str]] = {
    "few lots": "There are few lots: the result turns with each of them.",
    "narrow range": "The range is narrow against the scatter: the slope means little.",
    "not straight": "The lots bend away from the line: it does not hold alike at all levels.",
    "differences grow": "The differences grow or shrink with the level: one figure does not serve.",
}


def apart(size: float, *, scale: Scale, unit: str) -> str:
    """A difference with its sign; on log scale of logarithms, told as a share."""
    if scale == "log":
        return change(math.expm1(size))
    return f"{'+' if size > 0.0 else ''}{written(size, unit=unit)}"


def comparison(found: MethodComparison, *, method: str, against: str, of: str, unit: str) -> str:
    """What a comparison found, with its intervals.

    Parameters
    ----------
    of
        Which lots they are.
    """
    head = f"On {count(found.lots, 'lot')} {of}, {method}"
    sure = f"{100.0 * found.confidence:.0f} % interval"
    if found.kind != "differences":
        line = found.line
        ends = f"{line.slope_interval.low:.3g} to {line.slope_interval.high:.3g}"
        starts = (
            f"{written(line.intercept_interval.low)} to"
            f" {written(line.intercept_interval.high, unit=unit)}"
        )
        return (
            f"{head} reads {line.slope:.3g} times {against}"
            f" {'plus' if line.intercept >= 0.0 else 'less'}"
            f" {written(abs(line.intercept), unit=unit)} ({sure} of the factor {ends}, of what is"
            f" added {starts})."
        )
    told = [
        apart(one, scale=found.scale, unit=unit)
        for one in (
            found.agreement.bias,
            found.agreement.bias_interval.low,
            found.agreement.bias_interval.high,
            found.agreement.lower,
            found.agreement.upper,
        )
    ]
    return (
        f"{head} reads {told[0]} against {against} ({sure} {told[1]} to {told[2]}); 95 of 100"
        f" single lots lie between {told[3]} and {told[4]}."
    )


def proportional(found: MethodComparison, *, unit: str) -> str:
    """Whether the difference grows with the level, and over which range this was looked at."""
    level = f"between {written(found.lowest)} and {written(found.highest, unit=unit)}"
    grows = found.proportional
    if grows is None:
        return f"Read {level}; whether the difference grows with the level cannot be said."
    if found.scale == "log":
        ends = [change(math.expm1(each * math.log(2.0))) for each in _ends(grows)]
        words = f"twice the level changes the ratio by {ends[0]} ({ends[1]} to {ends[2]})"
    else:
        ends = [change(each) for each in _ends(grows)]
        words = f"the difference grows by {ends[0]} of the level ({ends[1]} to {ends[2]})"
    told = "Proportional bias" if grows.p_value < 0.05 else "No proportional bias is seen"
    return f"{told}, {level}: {words}."


def _ends(grows: Trend) -> tuple[float, float, float]:
    return grows.slope, grows.interval.low, grows.interval.high


def doubts(found: MethodComparison) -> list[str]:
    """What speaks against relying on a comparison, a sentence each."""
    return [_DOUBTS[doubt] for doubt in found.doubts]


def whose(material: str, supplier: str) -> str:
    """The lots that a correction or a comparison is for."""
    return f"of {material or 'every material'}{f' from {supplier}' if supplier else ''}"


def differences_axes(method: str, against: str, *, unit: str, log: bool) -> str:
    """What the picture of differences shows on its axes."""
    difference = "in per cent of it" if log else f"in {unit}"
    return (
        f"Upwards, how much more {method} reads than {against}, {difference}; to the right, the"
        f" mean of both in {unit}. Broken lines hold 95 of 100 lots."
    )


def line_axes(method: str, against: str, *, found: MethodComparison, unit: str) -> str:
    """What the picture of a line shows on its axes, and what the line rests on."""
    ratio = (
        f" The variance of an error upwards is taken as {found.variance_ratio:.2g} times that to"
        " the right."
        if found.kind in ("deming", "weighted-deming")
        else ""
    )
    return (
        f"Upwards {method}, to the right {against}, both in {unit}. On the broken line both read"
        f" the same.{ratio}"
    )


def reference(method: str) -> str:
    """That the method is what others are held to."""
    return f"{_first_up(method)} is the reference that other methods are held to."


def nothing_beside(method: str) -> str:
    """That no other method tells how far off this one is."""
    return f"How far off {method} reads cannot be said: no other method of ours measures it."


def too_few_pairs(method: str, against: str, lots: int) -> str:
    """That too few lots were measured by both methods."""
    return (
        f"How far off {method} reads cannot be said yet:"
        f" {count(lots, 'lot')} measured by {against} too, {FEWEST_LOTS} are needed."
    )


def far_off(found: MethodComparison, *, method: str, against: str, unit: str) -> str:
    """How far one method reads from another over all lots, in short."""
    bias, *ends = [
        apart(each, scale=found.scale, unit=unit)
        for each in (
            found.agreement.bias,
            found.agreement.bias_interval.low,
            found.agreement.bias_interval.high,
        )
    ]
    side = "below" if found.agreement.bias < 0.0 else "above"
    return (
        f"{_first_up(method)} reads {bias.lstrip('+−')} {side} {against} ({ends[0]} to {ends[1]},"
        f" {count(found.lots, 'lot')})."
    )


def _first_up(text: str) -> str:
    return text[:1].upper() + text[1:]
