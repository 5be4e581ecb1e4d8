"""Whose uncertainty matters, and what one more test of a lot would buy."""

import math
from dataclasses import replace

import numpy as np
import pytest

from spc.blend.outlook.sensitivity import one_more_test
from spc.blend.recipe import recipe
from spc.errors import InvalidInput


@pytest.fixture
def lots(lot):
    return [lot("mild", 30_000.0, 2.0, u=0.02), lot("hot", 60_000.0, 4.0, u=0.05)]


def with_another_test(one):
    """The lot with its result from two tests instead of one."""
    known = one.assays["heat"]
    better = replace(
        known, tests=2, standard_uncertainty=known.standard_uncertainty / math.sqrt(2.0)
    )
    return replace(one, assays={"heat": better})


def test_lots_and_methods_share_the_variance_between_them(lots, heat):
    told = recipe(lots, heat(odds=0.8), batch_kg=100.0).of("heat")

    assert told.lot_share.sum() + told.method_share.sum() == pytest.approx(1.0)
    assert told.deviation**2 == pytest.approx(told.lot_variance.sum() + told.method_variance.sum())
    assert told.method_share == pytest.approx([(0.01 * told.mean / told.deviation) ** 2])


def test_another_test_buys_what_a_recipe_made_with_it_costs_less(lots, heat):
    window = heat(42_000.0, 50_000.0, odds=0.9)
    made = recipe(lots, window, batch_kg=100.0, gap=0.0)

    told = one_more_test(made, "heat", gap=0.0)

    assert [each.lot for each in told] == ["hot", "mild"]
    for each in told:
        again = [with_another_test(one) if one.code == each.lot else one for one in lots]
        anew = recipe(again, window, batch_kg=100.0, gap=0.0)
        kept = anew.problem.mixings[0].deviation(made.kilograms)
        assert each.cost_per_kg_then == pytest.approx(anew.cost_per_kg, rel=1e-6)
        assert each.cost_per_kg_then < each.cost_per_kg
        assert each.deviation_then == pytest.approx(kept)
        assert each.odds_then > each.odds == pytest.approx(0.9, abs=1e-6)


def test_the_lot_that_matters_most_comes_first_and_only_as_many_as_asked(lots, heat):
    made = recipe(lots, heat(), batch_kg=100.0)

    told = one_more_test(made, "heat", most=1)

    assert [each.lot for each in told] == ["hot"]
    assert told[0].variance_share == made.of("heat").lot_share.max()


def test_where_only_the_method_is_in_doubt_no_test_of_a_lot_is_named(lot, heat):
    made = recipe([lot("A", 45_000.0, u=0.0)], heat(), batch_kg=100.0)

    assert one_more_test(made, "heat") == ()
    assert made.of("heat").method_share == pytest.approx([1.0])


def test_a_characteristic_that_was_not_asked_for_is_refused(lots, heat):
    with pytest.raises(InvalidInput, match="was not made for colour"):
        one_more_test(recipe(lots, heat(), batch_kg=100.0), "colour")


def test_the_odds_of_all_characteristics_lie_between_independence_and_the_worst(lot, heat):
    """Two of them, drawn: independent assays are inside together as often as their product."""
    lots = [lot("A", 45_000.0, u=0.06), lot("B", 44_000.0, u=0.05)]

    made = recipe(lots, heat(42_000.0, 48_000.0), batch_kg=100.0)
    drawn = made.simulated(np.random.default_rng(7))

    assert drawn.joint == pytest.approx(made.odds, abs=4.0 * drawn.joint_error)
    assert made.odds_at_least <= made.odds
