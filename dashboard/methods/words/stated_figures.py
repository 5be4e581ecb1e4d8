"""What is stated of a method, and what a new version would state otherwise."""

from typing import Final

from spc.digits import THIN, percent, written
from spc.intake.methods import MeasuringMethod

STATED: Final = (
    "A result keeps the version it was received under; a changed figure never touches results"
    " already in the store. Outside its range a reading is a bound, never a number."
)


def figure(size: float, stated: MeasuringMethod, *, unit: str = "") -> str:
    """One of the two figures of a method: a share, or in unit."""
    if stated.uncertainty_kind == "relative":
        return percent(size)
    return written(size, uncertainty=size, unit=unit)


def stated(one: MeasuringMethod, *, unit: str) -> list[tuple[str, str]]:
    """What is stated of a method, name by name; what is not stated is empty."""
    bounds = (one.quantification_limit, one.range_upper)
    dilution = (one.dilution_lowest, one.dilution_highest)
    return [
        ("standing", f"{one.standing}{', screening' if one.screening else ''}"),
        ("standard uncertainty", figure(one.standard_uncertainty, one, unit=unit)),
        ("repeatability", figure(one.repeatability, one, unit=unit)),
        ("known bias", figure(one.bias, one, unit=unit) if one.bias else "none stated"),
        ("range of readings", _between(*bounds, one.reading_unit)),
        ("dilution", _between(*dilution, "")),
        ("factors to SHU", ", ".join(f"{name} {by:g}" for name, by in one.factors.items())),
    ]


def _between(low: float | None, high: float | None, unit: str) -> str:
    parts = (("from", low), ("to", high))
    told = [f"{word} {end:,.6g}".replace(",", THIN) for word, end in parts if end is not None]
    return f"{' '.join(told)} {unit}".strip() if told else ""


def changed_figures(before: MeasuringMethod, after: MeasuringMethod) -> str:
    """What a new version of a method would state otherwise."""
    names = ("standard_uncertainty", "repeatability")
    told = [
        f"{name.replace('_', ' ')} from {figure(getattr(before, name), before)} to"
        f" {figure(getattr(after, name), after)}"
        for name in names
        if getattr(before, name) != getattr(after, name)
    ]
    return (
        f"Changes the {' and the '.join(told)}. Results received from its adoption on carry"
        " the new version; those in the store keep theirs."
    )


def stated_only(one: MeasuringMethod, *, unit: str) -> str:
    """The stated repeatability, where routine tells none."""
    told = figure(one.repeatability, one, unit=unit)
    return f"Its repeatability is stated as {told}; routine readings do not tell it."
