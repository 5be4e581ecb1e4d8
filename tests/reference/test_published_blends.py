"""Blending problems with a printed or well-known optimum, solved as recipes.

Ozark Farms feed mix: Taha, Operations Research (data seen, optimum from memory).  The cat-food
blend of a linear-programming library's documentation (from memory; linprog confirms).  The square
of two components is arithmetic.
"""

import numpy as np
import pytest
from scipy.optimize import linprog

from spc.blend.problem.stock import Assay, StockLot
from spc.blend.problem.target import Window
from spc.blend.recipe import recipe


def part(code, price, *, available=1e6, **content):
    return StockLot(
        code=code,
        material="feed",
        supplier=code,
        origin="",
        price_per_kg=price,
        available_kg=available,
        assays={
            name: Assay(value=value, standard_uncertainty=0.0, unit="%", method="table")
            for name, value in content.items()
        },
    )


def test_the_feed_mix_of_ozark_farms_costs_437_65():
    lots = [
        part("corn", 0.30, protein=9.0, fibre=2.0),
        part("soybean meal", 0.90, protein=60.0, fibre=6.0),
    ]
    target = [
        Window(characteristic="protein", unit="%", lower=30.0),
        Window(characteristic="fibre", unit="%", upper=5.0),
    ]

    found = recipe(lots, target, batch_kg=800.0, gap=0.0)

    assert found.cost == pytest.approx(437.6470588, rel=1e-6)
    assert found.kilograms == pytest.approx([470.5882353, 329.4117647], rel=1e-6)


def test_the_cat_food_is_sixty_of_beef_and_forty_of_gel():
    names = ("chicken", "beef", "mutton", "rice", "wheat bran", "gel")
    cost = (0.013, 0.008, 0.010, 0.002, 0.005, 0.001)
    content = {
        "protein": (0.100, 0.200, 0.150, 0.000, 0.040, 0.000),
        "fat": (0.080, 0.100, 0.110, 0.010, 0.010, 0.000),
        "fibre": (0.001, 0.005, 0.003, 0.100, 0.150, 0.000),
        "salt": (0.002, 0.005, 0.007, 0.002, 0.008, 0.000),
    }
    lots = [
        part(name, cost[i], **{each: values[i] for each, values in content.items()})
        for i, name in enumerate(names)
    ]
    target = [
        Window(characteristic="protein", unit="%", lower=0.08),
        Window(characteristic="fat", unit="%", lower=0.06),
        Window(characteristic="fibre", unit="%", upper=0.02),
        Window(characteristic="salt", unit="%", upper=0.004),
    ]

    found = recipe(lots, target, batch_kg=100.0, gap=0.0)

    assert found.cost == pytest.approx(0.52, rel=1e-6)
    assert found.kilograms == pytest.approx([0, 60, 0, 0, 0, 40], abs=1e-4)


@pytest.mark.parametrize(
    ("target", "low", "high", "percent_low"),
    [
        (20.0, 8.0, 44.0, 66.666667),
        (16.0, 9.0, 44.0, 80.0),
        (14.0, 10.0, 45.0, 88.571429),
        (16.0, 8.5, 44.0, 78.873239),
        (18.0, 10.0, 45.0, 77.142857),
    ],
)
def test_two_components_meet_a_level_by_the_square(target, low, high, percent_low):
    lots = [part("low", 1.0, protein=low), part("high", 2.0, protein=high)]
    window = Window(characteristic="protein", unit="%", lower=target, upper=target)

    found = recipe(lots, window, batch_kg=100.0, gap=0.0)

    assert found.kilograms[0] == pytest.approx(percent_low, abs=2e-4)


def test_without_odds_and_bags_a_recipe_is_the_linear_programme_of_scipy():
    random = np.random.default_rng(10)
    for _ in range(25):
        heat, price = random.uniform(3e4, 7e4, 12), random.uniform(3.0, 6.0, 12)
        stock = random.uniform(60.0, 200.0, 12)
        lots = [part(f"L{i}", price[i], available=stock[i], heat=heat[i] / 1e3) for i in range(12)]
        window = Window(characteristic="heat", unit="%", lower=44.0, upper=48.0)
        plain = linprog(
            price,
            A_ub=np.stack([heat / 1e3 - 48.0, 44.0 - heat / 1e3]),
            b_ub=[0.0, 0.0],
            A_eq=np.ones((1, 12)),
            b_eq=[150.0],
            bounds=[(0.0, each) for each in stock],
        )

        found = recipe(lots, window, batch_kg=150.0, gap=0.0)

        assert found.cost == pytest.approx(plain.fun, rel=1e-6)
