"""Control charts for lots: limits, run rules, lot values."""

from spc.charts.between_within import BetweenWithin, between_within
from spc.charts.censored import CensoredBaseline, censored_baseline
from spc.charts.change_shapes import ChangeShape, change_shape
from spc.charts.changepoint import ChangePoint, change_point
from spc.charts.constants import c4, d2, d3
from spc.charts.counts import CountLimits, counts, proportions
from spc.charts.fewlots import guaranteed, prediction, self_starting
from spc.charts.limits import Limits, individuals, moving_range, on_log_scale
from spc.charts.lots import LotValues, lot_values
from spc.charts.modified import AcceptanceLimits, modified_limits
from spc.charts.multivariate import TSquared, t_squared
from spc.charts.multivariate_ewma import Mewma, mewma, mewma_limit, run_length_mewma
from spc.charts.rules.price import Price, price
from spc.charts.rules.rules import DEFAULT_RULES, RULES, Rule, run_rules
from spc.charts.rules.runlength import run_length
from spc.charts.rules.runlength_individuals import run_length_individuals
from spc.charts.rules.runlength_ordered import run_length_ordered
from spc.charts.rules.runlength_simulated import SimulatedRunLength, run_length_simulated
from spc.charts.rules.runlength_weighted import run_length_cusum, run_length_ewma
from spc.charts.subgroups import GroupLimits, subgroups
from spc.charts.suggestions import Suggestions, suggest
from spc.charts.timeweighted import Cusum, Weighted, cusum, ewma

__all__ = [
    "DEFAULT_RULES",
    "RULES",
    "AcceptanceLimits",
    "BetweenWithin",
    "CensoredBaseline",
    "ChangePoint",
    "ChangeShape",
    "CountLimits",
    "Cusum",
    "GroupLimits",
    "Limits",
    "LotValues",
    "Mewma",
    "Price",
    "Rule",
    "SimulatedRunLength",
    "Suggestions",
    "TSquared",
    "Weighted",
    "between_within",
    "c4",
    "censored_baseline",
    "change_point",
    "change_shape",
    "counts",
    "cusum",
    "d2",
    "d3",
    "ewma",
    "guaranteed",
    "individuals",
    "lot_values",
    "mewma",
    "mewma_limit",
    "modified_limits",
    "moving_range",
    "on_log_scale",
    "prediction",
    "price",
    "proportions",
    "run_length",
    "run_length_cusum",
    "run_length_ewma",
    "run_length_individuals",
    "run_length_mewma",
    "run_length_ordered",
    "run_length_simulated",
    "run_rules",
    "self_starting",
    "subgroups",
    "suggest",
    "t_squared",
]
