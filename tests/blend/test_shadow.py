"""Shadow prices are what solving anew with a limit moved a little says.

Lots that are weighed out: then the recipe is its own relaxation.
"""

from dataclasses import replace

import pytest

from spc.blend.problem.rules import Rules, ShareLimit
from spc.blend.problem.target import Window
from spc.blend.recipe import recipe


@pytest.fixture
def lots(lot):
    """The hot lots are dear and pale, so that heat and colour both cost something."""
    return [
        lot("mild", 30_000.0, 2.0, colour=90.0),
        lot("warm", 45_000.0, 3.5, colour=60.0, kg=20.0),
        lot("hot", 70_000.0, 4.0, colour=40.0),
        lot("fine", 65_000.0, 9.0, colour=95.0, supplier="Birch"),
    ]


@pytest.fixture
def windows(heat):
    return [
        heat(42_000.0, 60_000.0),
        Window(characteristic="colour", unit="ASTA units", lower=77.0),
    ]


def price(found, words):
    return next(each for each in found.shadow_prices if words in each.constraint)


def test_a_limit_costs_what_moving_it_costs(lots, windows):
    before = recipe(lots, windows, batch_kg=100.0, gap=0.0)

    for place, words, step in [(0, "heat of at least", 10.0), (1, "colour of at least", 0.01)]:
        moved = list(windows)
        moved[place] = replace(windows[place], lower=windows[place].lower + step)
        after = recipe(lots, moved, batch_kg=100.0, gap=0.0)
        told = price(before, words)

        assert told.unit == windows[place].unit
        assert told.per_unit == pytest.approx((after.cost - before.cost) / step, rel=1e-4)
        assert told.constraint in before.binding


@pytest.mark.parametrize(("lower", "upper"), [(42_000.0, 48_000.0), (42_000.0, None)])
def test_odds_and_the_limits_behind_them_cost_what_moving_them_costs(lots, heat, lower, upper):
    def asked(**change):
        window = heat(**({"lower": lower, "upper": upper, "odds": 0.8} | change))
        return recipe(lots, window, batch_kg=100.0, gap=0.0)

    before = asked()

    by_odds = price(before, "odds of at least")
    assert by_odds.unit == "percentage point"
    assert by_odds.per_unit == pytest.approx((asked(odds=0.801).cost - before.cost) / 0.1, rel=2e-2)
    assert price(before, "heat of at least").per_unit == pytest.approx(
        (asked(lower=lower + 10.0).cost - before.cost) / 10.0, rel=2e-2
    )


def test_a_share_a_kilogram_in_stock_and_one_more_of_the_batch_have_their_price(lots, windows):
    rules = Rules(shares=[ShareLimit(of="supplier", name="Birch", least=0.3)])
    more = Rules(shares=[ShareLimit(of="supplier", name="Birch", least=0.301)])
    before = recipe(lots, windows, batch_kg=100.0, rules=rules, gap=0.0)
    shared = recipe(lots, windows, batch_kg=100.0, rules=more, gap=0.0)
    larger = recipe(lots, windows, batch_kg=100.1, rules=rules, gap=0.0)

    assert price(before, "supplier Birch").per_unit == pytest.approx(
        (shared.cost - before.cost) / 0.1, rel=1e-3
    )
    assert price(before, "a batch of").per_unit == pytest.approx(
        (larger.cost - before.cost) / 0.1, rel=1e-3
    )


def test_a_lot_that_is_used_up_would_save_by_each_kilogram_more(lot, heat):
    lots = [lot("scarce", 45_000.0, 1.0, kg=20.0), lot("plenty", 45_000.0, 3.0)]

    found = recipe(lots, heat(), batch_kg=100.0)

    assert price(found, "lot scarce in stock").per_unit == pytest.approx(-2.0)
    assert not any("plenty" in each.constraint for each in found.shadow_prices)


def test_a_limit_that_is_not_in_the_way_has_no_price(lot, heat):
    found = recipe([lot("A", 45_000.0, 2.0)], heat(odds=0.5), batch_kg=100.0)

    assert [each.constraint for each in found.shadow_prices] == ["a batch of 100 kg"]
    assert found.shadow_prices[0].per_unit == pytest.approx(2.0)
