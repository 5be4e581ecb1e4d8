"""Differences between suppliers as people read them: signed, in the terms of their comparison."""

import math
from typing import Final

from spc.answers.cost import CostOfHeat
from spc.answers.suppliers import WITHIN
from spc.answers.suppliers_compared import SuppliersCompared
from spc.digits import change, percent, written

_LEAST: Final = 1e-6


def between(low: float, high: float, told: SuppliersCompared) -> str:
    """Two changes as an interval: signed shares on log scale, else signed and in the unit."""
    if told.found.scale == "log":
        return f"{change(low)} to {change(high)}"
    return f"{_signed(low)} to {signed(high, told)}"


def signed(value: float, told: SuppliersCompared) -> str:
    """A change with its sign: a share on log scale, else in the unit."""
    if told.found.scale == "log":
        return change(value)
    return f"{_signed(value)} {told.found.unit}".strip()


def share(log_ratio: float, told: SuppliersCompared) -> float:
    """A difference on the scale of the comparison, as `signed` takes it."""
    return math.expm1(log_ratio) if told.found.scale == "log" else log_ratio


def chance(drawn: float) -> str:
    """A chance found by drawing: that every draw agreed makes nothing certain."""
    return percent(min(max(drawn, _LEAST), 1.0 - _LEAST))


def nearness(told: SuppliersCompared) -> str:
    """How near to the own result the next certificate is asked to lie."""
    if told.found.scale == "log":
        return percent(WITHIN)
    near = WITHIN * abs(float(told.found.lots["value"].mean()))
    return written(near, unit=told.found.unit)


def currency(told: SuppliersCompared) -> str:
    """Of the money that heat costs; empty where it is not known."""
    return (
        told.cost_of_heat.by_supplier.currency if isinstance(told.cost_of_heat, CostOfHeat) else ""
    )


def _signed(value: float) -> str:
    return f"{'+' if value > 0.0 else ''}{written(value)}"
