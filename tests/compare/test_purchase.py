"""What the next euro should buy, and the cheapest way to a wanted uncertainty."""

import itertools
import math

import numpy as np
import pytest

from spc.compare.spread.cheapest_design import cheapest_design
from spc.compare.spread.purchase import next_purchase
from spc.compare.spread.sampling_spread import (
    PARTS,
    Prices,
    SamplingDesign,
    SamplingSpread,
    sampling_spread,
)
from spc.compare.spread.variance_components import components
from spc.errors import InvalidInput

# Heat of a powder in logs, so that 0.08 is 8 %; prices in euro.
SPREAD = SamplingSpread(bag=0.08, test=0.05, laboratory=0.03, method=0.02)
PRICES = Prices(bag=5.0, test=40.0, laboratory=60.0)


def by_hand(spread, bags, tests, laboratories):
    """Variance of the mean of a lot, written out."""
    return (
        spread.bag**2 / bags
        + spread.test**2 / (bags * tests * laboratories)
        + spread.laboratory**2 / laboratories
        + spread.method**2
    )


def test_every_offer_is_priced_and_weighed_by_hand():
    now = SamplingDesign(bags=4, tests=2)

    found = next_purchase(SPREAD, PRICES, now)

    before = by_hand(SPREAD, 4, 2, 1)
    expected = {
        "bag": (5.0 + 2 * 40.0, by_hand(SPREAD, 5, 2, 1)),
        "test": (4 * 40.0, by_hand(SPREAD, 4, 3, 1)),
        "laboratory": (60.0 + 4 * 2 * 40.0, by_hand(SPREAD, 4, 2, 2)),
    }
    assert found.uncertainty == pytest.approx(math.sqrt(before))
    assert {option.bought for option in found.options} == set(expected)
    for option in found.options:
        cost, after = expected[option.bought]
        assert option.cost == pytest.approx(cost)
        assert option.variance_drop == pytest.approx(before - after)
        assert option.uncertainty == pytest.approx(math.sqrt(after))
        drop = (math.sqrt(before) - math.sqrt(after)) / cost
        assert option.drop_per_cost == pytest.approx(drop)
    gains = [option.drop_per_cost for option in found.options]
    assert gains == sorted(gains, reverse=True)
    assert found.best == found.options[0].bought


@pytest.mark.parametrize(
    ("spread", "best"),
    [
        (SamplingSpread(bag=0.20, test=0.02), "bag"),
        (SamplingSpread(bag=0.01, test=0.20), "test"),
        (SamplingSpread(bag=0.02, test=0.02, laboratory=0.15), "laboratory"),
        (SamplingSpread(bag=0.0, test=0.0, method=0.1), None),
    ],
)
def test_what_spreads_most_is_what_to_buy_more_of(spread, best):
    prices = Prices(bag=30.0, test=10.0, laboratory=40.0)

    found = next_purchase(spread, prices, SamplingDesign(bags=3, tests=1))

    assert found.best == best
    assert found.also_best == ()


def test_no_purchase_shrinks_the_uncertainty_of_the_method():
    now = SamplingDesign(bags=3, tests=2)

    found = next_purchase(SPREAD, PRICES, now)
    sure = next_purchase(SamplingSpread(bag=0.08, test=0.05, laboratory=0.03), PRICES, now)

    assert found.parts[PARTS.index("method")] == pytest.approx(0.02**2)
    for one, other in zip(found.options, sure.options, strict=True):
        assert one.uncertainty > 0.02
        assert one.variance_drop == pytest.approx(other.variance_drop)
        assert one.uncertainty_drop < other.uncertainty_drop


def test_a_lot_whose_bags_are_all_sampled_has_no_bag_to_sell_nor_a_spread_between_them():
    now = SamplingDesign(bags=6, tests=1)

    found = next_purchase(SPREAD, PRICES, now, bags_in_lot=6)

    assert found.parts[PARTS.index("bag")] == 0.0
    assert "bag" not in {option.bought for option in found.options}


def test_means_of_bags_of_a_small_lot_spread_as_sampling_without_replacement_says():
    """Cochran 1977: every choice of 3 bags of 5, against S² (1/3 - 1/5)."""
    bags = np.array([10.0, 12.0, 13.0, 17.0, 21.0])
    means = [np.mean(chosen) for chosen in itertools.combinations(bags, 3)]

    variance = SamplingSpread(bag=bags.std(ddof=1), test=0.0).variances(3, 1, 1, bags_in_lot=5)

    assert variance.sum() == pytest.approx(np.var(means))


def test_advice_that_hangs_on_a_poorly_known_spread_says_what_else_could_be_best():
    sure = SamplingSpread(bag=0.10, test=0.06)
    unsure = SamplingSpread(bag=0.10, test=0.06, bag_interval=(0.0, 0.3), test_interval=(0.04, 0.1))
    prices, now = Prices(bag=60.0, test=10.0), SamplingDesign(bags=3, tests=1)

    assert next_purchase(sure, prices, now).also_best == ()
    found = next_purchase(unsure, prices, now)
    assert (found.best, found.also_best) == ("test", ("bag",))


def test_the_spreads_come_from_estimated_components_with_their_intervals():
    generator = np.random.default_rng(8)
    lot, bag, _ = (one.ravel() for one in np.indices((10, 4, 2)))
    value = generator.normal(size=10)[lot] + 0.3 * generator.normal(size=(10, 4))[lot, bag]
    found = components(
        value + 0.2 * generator.normal(size=80), {"lot": lot, "sample": bag}, residual="replicate"
    )

    spread = sampling_spread(found, method=0.05)

    assert (spread.bag, spread.test) == (found.sd[1], found.sd[2])
    assert spread.bag_interval == pytest.approx(
        (found.interval_low[1] ** 0.5, found.interval_high[1] ** 0.5)
    )
    assert (spread.laboratory, spread.laboratory_interval, spread.method) == (0.0, None, 0.05)
    assert sampling_spread(found, laboratory="lot").laboratory == found.sd[0]


def test_bags_that_were_tested_once_each_give_no_advice_between_bags_and_tests():
    found = components([1.0, 2.0, 4.0, 3.0], {"lot": [0, 0, 1, 1], "sample": [0, 1, 0, 1]})

    with pytest.raises(InvalidInput, match="nothing can be said of sample"):
        sampling_spread(found)


@pytest.mark.parametrize("wanted", [0.06, 0.045, 0.035, 0.03])
def test_no_cheaper_design_within_the_bounds_reaches_what_is_wanted(wanted):
    bounds = {"most_bags": 25, "most_tests": 4, "most_laboratories": 5}

    found = cheapest_design(SPREAD, PRICES, wanted=wanted, **bounds)

    slow = [
        (b * 5.0 + b * r * m * 40.0 + (m - 1) * 60.0, by_hand(SPREAD, b, r, m))
        for b, r, m in itertools.product(range(1, 26), range(1, 5), range(1, 6))
    ]
    cost, variance = min(one for one in slow if one[1] <= wanted**2)
    assert found.cost == pytest.approx(cost)
    assert found.uncertainty == pytest.approx(math.sqrt(variance))
    assert found.floor == pytest.approx(math.sqrt(min(one[1] for one in slow)))
    assert found.obstacle == ""


def test_an_uncertainty_that_a_design_meets_exactly_is_reached():
    found = cheapest_design(SamplingSpread(bag=0.3, test=0.0), PRICES, wanted=0.1)

    assert found.design == SamplingDesign(bags=9, tests=1)


@pytest.mark.parametrize(
    ("wanted", "obstacle", "floor"),
    [(0.018, "method", 0.02), (0.022, "laboratory", math.hypot(0.02, 0.03 / 2.0))],
)
def test_a_floor_that_no_number_of_bags_and_tests_lowers_is_named(wanted, obstacle, floor):
    found = cheapest_design(SPREAD, PRICES, wanted=wanted, most_laboratories=4)

    assert (found.design, found.obstacle) == (None, obstacle)
    assert math.isnan(found.cost)
    assert found.floor > floor >= wanted
    assert floor == pytest.approx(
        {"method": found.method_floor, "laboratory": found.laboratory_floor}[obstacle]
    )


def test_more_bags_than_allowed_would_do_is_said_of_the_bounds():
    found = cheapest_design(SPREAD, PRICES, wanted=0.03, most_bags=3)

    assert (found.design, found.obstacle) == (None, "bounds")
    assert found.laboratory_floor < 0.03 < found.floor


def test_a_small_lot_is_never_asked_for_more_bags_than_it_has():
    found = cheapest_design(SPREAD, PRICES, wanted=0.04, bags_in_lot=4)

    assert found.design is not None
    assert found.design.bags <= 4


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        (lambda: SamplingDesign(bags=0, tests=1), "0 bags, 1 tests and 1 laboratories"),
        (lambda: SamplingSpread(bag=-0.1, test=0.1), "standard deviations -0.1, 0.1"),
        (lambda: Prices(bag=1.0, test=0.0), "cannot be weighed"),
        (
            lambda: next_purchase(SPREAD, PRICES, SamplingDesign(bags=7, tests=1), bags_in_lot=6),
            "7 bags are sampled of a lot of 6",
        ),
        (lambda: cheapest_design(SPREAD, PRICES, wanted=0.0), "an uncertainty of 0"),
        (lambda: cheapest_design(SPREAD, PRICES, wanted=0.1, bags_in_lot=0), "up to 0 bags"),
    ],
)
def test_numbers_that_make_no_choice_are_refused_in_a_sentence(wrong, sentence):
    with pytest.raises(InvalidInput, match=sentence):
        wrong()
