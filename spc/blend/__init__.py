"""Recipes from the lots in stock: hit a heat level, know the odds, at the least cost."""

from spc.blend.future import FutureBlends, FutureStream, future_blends
from spc.blend.learning import LearnedBias, learned_bias
from spc.blend.outlook import Outlook, frontier, reach
from spc.blend.recipe import Recipe, recipe
from spc.blend.required import RequiredHeat, required_heat
from spc.blend.rules import Rules, ShareLimit
from spc.blend.stock import Assay, StockLot
from spc.blend.target import Window

__all__ = [
    "Assay",
    "FutureBlends",
    "FutureStream",
    "LearnedBias",
    "Outlook",
    "Recipe",
    "RequiredHeat",
    "Rules",
    "ShareLimit",
    "StockLot",
    "Window",
    "frontier",
    "future_blends",
    "learned_bias",
    "reach",
    "recipe",
    "required_heat",
]
