"""What a recipe may draw from: lots with all that is asked for, and why the others are left out."""

import math
from typing import Any

import pandas as pd
import pytest

from spc.answers.blends.specified_orders import blend_order
from spc.answers.blends.stock import blend_stock
from spc.answers.blends.stock_today import heat_bias, learned_correction, stock_for_order
from spc.answers.specified_lines import HEAT
from spc.blend.outlook.learning import learned_bias
from tests import blend_orders
from tests.blend_orders import WITHIN, needs, stock


@pytest.fixture
def two_lots():
    return blend_orders.two_lots()


def test_kilograms_mix_by_arithmetic_means_and_one_composite_is_one_already(two_lots):
    several = two_lots.lots[0].assays["heat"].value
    single = blend_stock(stock(("A", 30_000.0, 4.0, 500.0, {"samples": 1})), needs())

    lift = math.sqrt(1.0 + WITHIN**2) ** (1.0 - 1.0 / 5.0)
    assert several == pytest.approx(30_000.0 * lift)
    assert single.lots[0].assays["heat"].value == pytest.approx(30_000.0)


@pytest.mark.parametrize(
    ("special", "reason"),
    [
        ({"without": "moisture"}, "it has no result for moisture"),
        ({"bound": "above"}, "its heat is known only to lie above what could be read"),
        ({"currency": "USD"}, "its price is in USD, those of the others in EUR"),
    ],
)
def test_a_lot_that_cannot_be_reckoned_with_is_left_out_and_says_why(special, reason):
    lots: list[Any] = [(name, 30_000.0, 4.0, 500.0, {}) for name in "AB"]

    held = blend_stock(stock(*lots, ("C", 60_000.0, 6.0, 500.0, special)), needs())

    assert [lot.code for lot in held.lots] == ["A", "B"]
    assert [(one.code, one.reason) for one in held.left_out] == [("C", reason)]


def test_a_barred_lot_is_there_with_its_reason_and_is_not_offered():
    every = stock(
        ("A", 30_000.0, 4.0, 500.0, {}),
        ("C", 40_000.0, 0.1, 500.0, {"barred": "the lot is on hold"}),
    )

    held = blend_stock(every, needs())

    assert [lot.code for lot in held.offered] == ["A"]
    assert {lot.code: lot.barred for lot in held.lots}["C"] == "the lot is on hold"


@pytest.mark.parametrize(("blends", "learnt"), [(2, 0.0), (3, -0.1)])
def test_nothing_is_learnt_before_three_blends_were_measured(blends, learnt):
    frame = pd.DataFrame(
        {
            "characteristic": "heat",
            "scale": "log",
            "deviation": [-0.1] * blends,
            "deviation_u": 0.01,
        }
    )

    assert learned_correction(learned_bias(frame)) == pytest.approx(learnt, abs=0.01)


def test_today_s_stock_of_a_store_is_what_an_order_may_draw_from(demo_store):
    order = blend_order(demo_store, "cayenne powder", batch_kg=500.0, heat=42_000.0, within=0.12)

    held = stock_for_order(demo_store, order)

    assert held.currency == "EUR"
    assert len(held.offered) > 5
    assert {lot.material for lot in held.lots} == {"cayenne powder"}
    assert all(HEAT in lot.assays for lot in held.offered)
    assert not {lot.code for lot in held.offered} & {one.code for one in held.left_out}
    assert not heat_bias(demo_store).can_be_said, "the fixture's demo has made no blend"
