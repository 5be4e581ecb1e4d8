"""Control charts for lots: limits, run rules, lot values."""

from spc.charts.constants import c4, d2, d3
from spc.charts.limits import Limits, individuals, moving_range, on_log_scale
from spc.charts.lots import LotValues, lot_values
from spc.charts.rules import DEFAULT_RULES, RULES, Rule, run_rules

__all__ = [
    "DEFAULT_RULES",
    "RULES",
    "Limits",
    "LotValues",
    "Rule",
    "c4",
    "d2",
    "d3",
    "individuals",
    "lot_values",
    "moving_range",
    "on_log_scale",
    "run_rules",
]
