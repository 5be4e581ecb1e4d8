"""What a correction would do, and whether it is worth making."""

import math
from collections.abc import Sequence
from typing import Final

from dashboard.frame.words import count, day
from spc.compare.between_methods.corrections import Correction
from spc.compare.between_methods.warrants import Warrant
from spc.digits import percent, written
from spc.intake.corrections import AdoptedCorrection


def warrant(told: Warrant, *, unit: str) -> str:
    """Whether a correction is worth making, and why."""
    size = (
        f"at {written(told.at, unit=unit)} it would take away {_signed(told.bias, unit)}"
        f" ({_signed(told.interval.low)} to {_signed(told.interval.high, unit)}),"
        f" {told.share:.2g} times the method's own standard uncertainty"
    )
    chance = f"a difference like this has a chance of {percent(told.p_value)} where there is none"
    if told.warranted:
        return f"Worth correcting: {size}; {chance}."
    if told.p_value < 0.05:
        return f"Not worth correcting, because it is too small to matter: {size}; {chance}."
    return (
        f"Not worth correcting yet, because it cannot be told from none: {size}; {chance}, the"
        f" uncertainty of the other method counted in. Left in, state"
        f" {written(told.uncorrected_uncertainty, unit=unit)} as standard uncertainty there."
    )


def _signed(size: float, unit: str = "") -> str:
    return f"{'+' if size > 0.0 else ''}{written(size, unit=unit)}"


def correction(one: Correction, *, unit: str) -> str:
    """What a correction does to a value."""
    uncertain = written(one.uncertainty_at(one.highest), unit=unit)
    if one.kind == "ratio":
        does = f"divides the lot's mean by {one.slope:.4f}"
        own = percent(math.sqrt(one.slope_variance) / one.slope)
        return f"{does}; it adds a standard uncertainty of {own}"
    less = f"takes {_signed(one.offset, unit)} off the lot's mean"
    if one.kind == "line":
        less += f" and divides by {one.slope:.4f}"
    return f"{less}; it adds a standard uncertainty of {uncertain} at the upper end"


def in_force(adopted: Sequence[AdoptedCorrection]) -> str:
    """Which corrections are in force today."""
    if not adopted:
        return "No correction is in force."
    told = "; ".join(f"{one.name} since {day(one.effective_from)}" for one in adopted)
    return f"In force: {told}."


def would_change(waiting: int, corrected_: int, moved: int) -> str:
    """What a correction would do to the lots that wait."""
    if not corrected_:
        return (
            f"None of the {count(waiting, 'waiting lot')} would be judged on another value: their"
            " lines do not rest on this method, or another material is meant."
        )
    verdict = (
        "no recommendation would change"
        if not moved
        else f"{count(moved, 'recommendation')} would change"
    )
    return (
        f"If it were in force for the {count(waiting, 'lot')} that wait, {corrected_} would be"
        f" judged on another value, and {verdict}."
    )


ADOPTING: Final = (
    "It is made for lots received from its day on. Stored readings stay as they were measured; the"
    " lot's mean is corrected when it is judged, and the correction's own uncertainty joins the"
    " lot's. Lots received before keep their verdict."
)
