"""Around an order: what surer odds, another heat, one more test and another lot would change."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from spc.answers.blends import outlook
from spc.blend.outlook.outlook import GAP
from tests import blend_orders


@pytest.fixture
def two_lots():
    return blend_orders.two_lots()


@pytest.fixture
def order():
    return blend_orders.middling_order()


def test_one_more_test_of_a_lot_never_lowers_the_odds_of_a_mean_inside(order, two_lots):
    found = order.best_recipe(two_lots)

    tests = outlook.worth_of_tests(found)

    assert len(tests) == len(found.portions.lot)
    assert all(one.odds_then >= found.predicted[0].odds for one in tests)


def test_surer_odds_never_cost_less_and_a_hotter_lot_is_worth_more_where_heat_is_short(
    order, two_lots
):
    prices = outlook.cost_at_odds(order, two_lots)
    hot = replace(order, heat=58_000.0, lower=52_000.0, upper=64_000.0, odds=None)
    worth = outlook.worth_of_lots(hot, two_lots)

    costs = [one.per_kg for one in prices if not math.isnan(one.per_kg)]
    assert all(b >= a - GAP * a for a, b in pairwise(costs))
    assert [one.chosen for one in prices].count(True) == 1
    known = [one.up_to for one in worth if not math.isnan(one.up_to)]
    assert known[-1] > known[0]


def test_the_levels_that_stock_can_make_lie_between_its_lots(order, two_lots):
    prices = outlook.cost_at_heats(order, two_lots)

    assert prices[0].asked >= 30_000.0
    assert order.heat in [one.asked for one in prices]
    assert any(not math.isnan(one.per_kg) for one in prices)
