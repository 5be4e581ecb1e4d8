"""A buying brief: the price at which a lot that is not in stock enters the recipe."""

from dataclasses import replace

import numpy as np
import pytest

from spc.blend.outlook.buying import break_even, entry_prices, like_the_middle
from spc.blend.problem.rules import Rules
from spc.blend.recipe import recipe
from spc.errors import InvalidInput, LotBarred


@pytest.fixture
def lots(lot):
    return [
        lot("mild", 30_000.0, 2.0, colour=80.0),
        lot("warm", 45_000.0, 4.0, colour=60.0, kg=50.0),
        lot("hot", 70_000.0, 5.0, colour=50.0),
    ]


def test_a_lot_on_offer_is_like_the_middle_one_in_all_but_what_is_asked_of_it(lots, heat):
    colour = replace(heat(50.0, 90.0), characteristic="colour", unit="ASTA units")
    made = recipe(lots, [heat(42_000.0, 50_000.0), colour], batch_kg=100.0)

    offer = like_the_middle(made, "heat", 90_000.0)

    asked, middle = offer.assays["heat"], lots[1].assays["heat"]
    assert asked.value == pytest.approx(90_000.0)
    assert asked.standard_uncertainty == pytest.approx(2.0 * middle.standard_uncertainty)
    assert asked.shared_uncertainty == pytest.approx(2.0 * middle.shared_uncertainty)
    assert offer.assays["colour"].value == 60.0
    assert (offer.available_kg, offer.price_per_kg) == (100.0, 0.0)


def test_between_two_lots_the_first_kilogram_is_worth_what_it_replaces(lot, heat):
    """On the line between mild and hot at a fixed heat; weighed out and known exactly."""
    lots = [lot("mild", 30_000.0, 2.0), lot("hot", 70_000.0, 5.0)]
    made = recipe(lots, heat(42_000.0, 60_000.0), batch_kg=100.0, gap=0.0)
    candidates = [lot(f"C{level}", 1_000.0 * level) for level in (30, 50, 70, 90)]

    assert entry_prices(made, candidates) == pytest.approx([2.0, 3.5, 5.0, 6.5], rel=1e-6)


@pytest.mark.parametrize("rules", [Rules(), Rules(most_lots=2)], ids=["any number", "two lots"])
@pytest.mark.parametrize("odds", [None, 0.9])
def test_below_its_price_a_lot_enters_and_above_it_does_not(lots, lot, heat, rules, odds):
    window = heat(42_000.0, 50_000.0, odds=odds)
    made = recipe(lots, window, batch_kg=100.0, rules=rules, gap=0.0)
    candidate = lot("C", 52_000.0, kg=100.0)

    told = break_even(made, candidate, least_share=0.1, gap=0.0)

    for factor, enters in [(0.99, True), (1.01, False)]:
        offered = replace(candidate, price_per_kg=factor * told.per_kg)
        found = recipe([*lots, offered], window, batch_kg=100.0, rules=rules, gap=0.0)
        share = dict(zip(found.portions.lot.tolist(), found.portions.share.tolist(), strict=True))
        assert (share.get("C", 0.0) >= 0.1 - 1e-6) is enters
        assert (found.cost < made.cost - 1e-6) is enters
    assert told.share >= 0.1 - 1e-9
    assert told.saved_at_zero >= told.per_kg * told.share * 100.0 - 1e-6


def test_a_whole_delivery_is_never_worth_more_a_kilogram_than_its_first_one(lots, lot, heat):
    made = recipe(lots, heat(42_000.0, 50_000.0), batch_kg=100.0, gap=0.0)
    candidates = [lot(f"C{level}", 1_000.0 * level) for level in (35, 50, 65, 80)]

    first = entry_prices(made, candidates)

    whole = [break_even(made, each, gap=0.0).per_kg for each in candidates]
    assert np.all(np.array(whole) <= first * (1.0 + 1e-6))


def test_a_lot_that_no_recipe_can_take_has_no_price(lots, lot, heat):
    made = recipe(lots, heat(42_000.0, 50_000.0), batch_kg=100.0)

    told = break_even(made, lot("C", 900_000.0), least_share=0.5)

    assert np.isnan(told.per_kg)
    assert told.share == 0.0


def test_a_candidate_that_is_in_stock_or_barred_is_refused(lots, lot, heat):
    made = recipe(lots, heat(), batch_kg=100.0)

    with pytest.raises(InvalidInput, match="lot hot is in stock already"):
        break_even(made, lots[2])
    with pytest.raises(LotBarred, match="does not make it"):
        entry_prices(made, [lot("C", 45_000.0, barred="rejected")])
