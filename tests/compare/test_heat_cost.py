"""What heat costs is money paid over heat bought, not the price of a kilogram."""

import numpy as np
import pandas as pd
import pytest

from spc.compare.between_suppliers.heat_cost import heat_cost
from spc.errors import InvalidInput


def bought(**more):
    frame = pd.DataFrame(
        {
            "supplier": ["Hot", "Hot", "Mild", "Mild", "Mild"],
            "price_per_kg": [6.0, 6.4, 4.0, 4.2, 3.8],
            "currency": "EUR",
            "kg": [1000.0, 500.0, 1000.0, 1000.0, 2000.0],
            "heat": [60_000.0, 62_000.0, 30_000.0, 29_000.0, 33_000.0],
        }
    )
    return frame.assign(**more)


def test_the_dearer_kilogram_can_be_the_cheaper_heat():
    found = heat_cost(bought())

    assert found.supplier.tolist() == ["Hot", "Mild"]
    assert found.cost[0] == pytest.approx((6000 + 3200) / (60_000 + 31_000))
    assert found.lots.tolist() == [2, 3]


def test_the_cost_is_the_same_as_is_and_dry():
    """Both price and heat of a kilogram of dry matter are larger by the same share."""
    dry = bought().assign(
        price_per_kg=lambda lots: lots["price_per_kg"] / 0.9,
        heat=lambda lots: lots["heat"] / 0.9,
    )

    assert heat_cost(dry).cost == pytest.approx(heat_cost(bought()).cost)


def test_heat_reckoned_with_fifteen_is_brought_to_the_terms_of_sixteen_point_one():
    assert heat_cost(bought(), factor=16.1 / 15.0).cost == pytest.approx(
        heat_cost(bought()).cost * 15.0 / 16.1
    )


@pytest.mark.thorough
def test_the_interval_covers_the_true_cost_as_often_as_stated():
    random = np.random.default_rng(6)
    covered = 0
    for _ in range(400):
        heat = 40_000.0 * np.exp(0.12 * random.standard_normal(12))
        price = 4.5 * np.exp(0.08 * random.standard_normal(12))
        lots = bought().iloc[[0] * 12].assign(price_per_kg=price, heat=heat, kg=1000.0)
        found = heat_cost(lots)
        # The true ratio of means of the two lognormal distributions.
        truth = 4.5 * np.exp(0.08**2 / 2) / (40.0 * np.exp(0.12**2 / 2))
        covered += found.low[0] <= truth <= found.high[0]

    assert covered / 400 == pytest.approx(0.95, abs=0.035)


def test_one_lot_has_a_cost_and_no_interval():
    found = heat_cost(bought().head(1))

    assert found.cost[0] == pytest.approx(0.1)
    assert np.isnan([found.low[0], found.high[0]]).all()


def test_a_lot_without_a_price_is_left_out():
    lots = bought(price_per_kg=[6.0, np.nan, 4.0, 4.2, 3.8])

    assert heat_cost(lots).lots.tolist() == [1, 3]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"currency": ["EUR", "USD", "EUR", "EUR", "EUR"]}, "prices are in EUR and USD"),
        ({"heat": 0.0}, "not above zero"),
        ({"price_per_kg": -1.0}, "not above zero"),
    ],
)
def test_prices_that_cannot_be_compared_are_refused(change, said):
    with pytest.raises(InvalidInput, match=said):
        heat_cost(bought(**change))
