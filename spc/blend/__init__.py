"""Recipes from the lots in stock: hit a heat level, know the odds, at the least cost."""

from spc.blend.outlook.buying import BreakEven, break_even, entry_prices
from spc.blend.outlook.future import FutureBlends, FutureStream, future_blends
from spc.blend.outlook.learning import LearnedBias, learned_bias
from spc.blend.outlook.outlook import Outlook, frontier, reach
from spc.blend.outlook.sensitivity import OneMoreTest, one_more_test
from spc.blend.problem.required import RequiredHeat, required_heat
from spc.blend.problem.rules import Rules, ShareLimit
from spc.blend.problem.stock import Assay, StockLot, mixing_assay
from spc.blend.problem.target import Window
from spc.blend.recipe import Recipe, recipe

__all__ = [
    "Assay",
    "BreakEven",
    "FutureBlends",
    "FutureStream",
    "LearnedBias",
    "OneMoreTest",
    "Outlook",
    "Recipe",
    "RequiredHeat",
    "Rules",
    "ShareLimit",
    "StockLot",
    "Window",
    "break_even",
    "entry_prices",
    "frontier",
    "future_blends",
    "learned_bias",
    "mixing_assay",
    "one_more_test",
    "reach",
    "recipe",
    "required_heat",
]
