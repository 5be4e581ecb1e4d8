"""Orders, stock and recipes: what a blend is asked, drawn from, drawn as and told as."""

import json
import math
from dataclasses import replace
from typing import Any

import pandas as pd
import pytest
import vl_convert

from dashboard.blends.charts.cost import cost_chart
from dashboard.blends.charts.outcome import outcome_chart
from dashboard.blends.charts.recipe import blend_chart, blend_height
from dashboard.blends.tables.kept import outcome_frame, outcome_table, side_by_side, trace_table
from dashboard.blends.tables.outlook import level_table, price_frame, uncertainty_table
from dashboard.blends.tables.picture import picture_frame
from dashboard.blends.tables.recipe import left_out_table, recipe_table
from dashboard.blends.words import kept, outlook, recipe
from dashboard.blends.words.recipe import money
from dashboard.frame.charts.spec import as_spec
from dashboard.frame.lot_addresses import by_number
from spc.answers.blends.outlook import KilogramPrice, cost_at_heats, worth_of_tests
from spc.answers.blends.stock import blend_stock
from spc.blend.outlook.learning import learned_bias
from spc.blend.outlook.steps import Step
from spc.errors import NoRecipe
from tests import blend_orders
from tests.blend_orders import needs, stock


@pytest.fixture
def two_lots():
    return blend_orders.two_lots()


@pytest.fixture
def order():
    return blend_orders.middling_order()


def test_a_barred_lot_is_never_offered_and_is_told_with_its_reason(order):
    reason = "the safety line aflatoxin B1 is not conforming, and mixing does not make it compliant"
    every = stock(
        ("A", 30_000.0, 4.0, 500.0, {}),
        ("B", 60_000.0, 6.0, 500.0, {}),
        ("C", 40_000.0, 0.1, 500.0, {"barred": reason}),
    )
    held = blend_stock(every, needs())

    found = order.best_recipe(held)
    table, _ = left_out_table(every.lots, held, order.drawn_from)

    assert set(found.portions.lot) == {"A", "B"}
    assert table["why it is not offered"].tolist() == [reason]
    assert "mixed with food" in recipe.MIXING


def test_what_blends_taught_is_in_the_heat_of_every_lot_once_three_were_measured(two_lots):
    frame = pd.DataFrame(
        {
            "characteristic": "heat",
            "scale": "log",
            "deviation": [-0.1, -0.1, -0.1],
            "deviation_u": 0.01,
        }
    )
    bias = learned_bias(frame)
    every = stock(("A", 30_000.0, 4.0, 500.0, {}), ("B", 60_000.0, 6.0, 500.0, {}))

    moved = blend_stock(every, needs(bias))

    ratio = moved.lots[0].assays["heat"].value / two_lots.lots[0].assays["heat"].value
    assert ratio == pytest.approx(math.exp(bias.bias))
    assert "cannot be said yet" in kept.learnt(learned_bias(frame.iloc[:2]))
    assert "By 3 blends measured so far, blends come out −9." in kept.learnt(bias)


def test_the_first_line_says_what_can_be_made_from_what_for_what_and_how_sure(order, two_lots):
    found = order.best_recipe(two_lots)

    said = recipe.answer(order, found, currency="EUR")

    assert said.startswith("**40\u202f000 SHU ± 10 % can be made today from 2 lots for €")
    assert "odds that its true heat lies inside are 9" in said
    assert found.predicted[0].odds >= 0.9


def test_what_cannot_be_made_says_what_conflicts_and_what_would_help(order, two_lots):
    hotter = replace(order, heat=90_000.0, lower=85_000.0, upper=95_000.0)

    with pytest.raises(NoRecipe) as refused:
        hotter.best_recipe(two_lots)

    said = recipe.no_answer(hotter, refused.value)
    assert "cannot be made today:" in said
    assert "odds of 90 %" in said
    assert all(one in recipe.cures(refused.value) for one in refused.value.cures)


def test_the_picture_holds_the_window_every_lot_the_portions_and_the_outcome(order, two_lots):
    found = order.best_recipe(two_lots)

    frame, rows = picture_frame(order, two_lots, found)

    kinds = frame.groupby("kind").size()
    assert (kinds["band"], kinds["lot"], kinds["portion"], rows) == (1, 2, 2, 2)
    curve = frame[frame["kind"] == "curve"]
    top = curve.sort_values("top").iloc[-1]
    assert top["heat"] == pytest.approx(found.predicted[0].mean)
    words = frame.loc[frame["kind"] == "portion", "top"]
    assert words.is_unique
    assert words.max() < curve["base"].min()
    assert curve["top"].max() <= blend_height(rows)


def test_a_conflict_that_may_not_be_the_smallest_says_so(order):
    unsettled = NoRecipe(["a batch of 300 kg", "at most 2 lots"], [], smallest=False)

    said = recipe.no_answer(order, unsettled)

    assert said.endswith(
        f"a batch of 300 kg and at most 2 lots cannot be kept together. {recipe.NOT_PROVEN}"
    )
    assert recipe.NOT_PROVEN not in recipe.no_answer(
        order, NoRecipe(unsettled.conflict, [], smallest=True)
    )


def test_stock_without_a_recipe_is_drawn_without_portions(order, two_lots):
    frame, rows = picture_frame(order, two_lots, None)

    assert rows == 0
    assert set(frame["kind"]) == {"band", "lot"}


def test_every_figure_draws_its_frame(order, two_lots):
    found = order.best_recipe(two_lots)
    picture, rows = picture_frame(order, two_lots, found)
    prices = price_frame([KilogramPrice(asked=0.9, per_kg=4.5, chosen=True)], currency="EUR")
    outcome = outcome_frame(against())
    drawn = [
        (blend_chart(log=True, unit="SHU"), picture, "R"),
        (cost_chart(title="odds asked (%)", log=False), prices, "odds asked (%)"),
        (outcome_chart(log=True, unit="SHU"), outcome, "predicted (SHU)"),
    ]
    for chart, frame, _ in drawn:
        spec = {**as_spec(chart), "width": 700, "height": blend_height(rows)}
        values = json.loads(frame.to_json(orient="records"))

        svg = vl_convert.vegalite_to_svg({**spec, "data": {"values": values}})

        assert "data" not in as_spec(chart)
        assert svg.count("<path") > 3


def against():
    return pd.DataFrame(
        {
            "name": ["first", "second"],
            "sheet": ["2026-0001", "2026-0002"],
            "lot": ["B-1", "B-2"],
            "characteristic": "heat",
            "unit": "SHU",
            "predicted": [40_000.0, 30_000.0],
            "predicted_sd": [2_000.0, 1_500.0],
            "measured": [41_000.0, math.nan],
            "measured_u": [1_000.0, math.nan],
            "remark": ["", "not measured yet"],
            "zeta": [0.45, math.nan],
        }
    )


def test_a_blend_not_measured_yet_is_in_the_table_and_not_in_the_picture():
    frame, table = outcome_frame(against()), outcome_table(against())

    assert (frame["kind"] == "blend").sum() == 1
    assert table["measured"].tolist()[1] == "not measured yet"


def test_the_portions_of_the_table_add_up_to_the_batch_and_its_cost(order, two_lots):
    found = order.best_recipe(two_lots)

    table = recipe_table(found, currency="EUR")

    assert table["kg"].sum() == pytest.approx(300.0)
    assert by_number(table)["lot"].tolist() == found.portions.lot.tolist()
    assert found.cost == pytest.approx(4.0 * _kg(found, "A") + 6.0 * _kg(found, "B"))


def _kg(found, lot):
    return sum(
        kg
        for code, kg in zip(found.portions.lot.tolist(), found.portions.kg.tolist(), strict=True)
        if code == lot
    )


def test_the_table_of_uncertainty_has_a_row_a_lot_and_a_row_a_method(order, two_lots):
    found = order.best_recipe(two_lots)

    table = uncertainty_table(found, worth_of_tests(found), currency="EUR")

    assert len(table) == len(found.portions.lot) + len(found.predicted[0].methods)


def test_the_levels_that_stock_can_make_lie_between_its_lots(order, two_lots):
    prices = cost_at_heats(order, two_lots)

    frame = price_frame(prices, currency="EUR")

    table = level_table(prices, order, currency="EUR")
    (batch,) = [name for name in table if str(name).endswith("kg cost")]
    made = [one for one in prices if not math.isnan(one.per_kg)]

    assert prices[0].asked >= 30_000.0
    assert batch == "300 kg cost"
    assert table[batch].tolist().count("–") == len(prices) - len(made)
    assert money(300.0 * made[0].per_kg, "EUR") in table[batch].tolist()
    assert order.heat in [one.asked for one in prices]
    assert "today's stock makes" in outlook.at_levels(frame, order)


def step(constraint, words, saved, least=None, most=None):
    ends = (saved if least is None else least, saved if most is None else most)
    return Step(constraint=constraint, step=words, saved=saved, least=ends[0], most=ends[1])


@pytest.mark.parametrize(
    ("tried", "said"),
    [
        (
            step("at most 3 lots", "one lot more", 90.0),
            "At most 3 lots: one lot more would save €90.00.",
        ),
        (
            step("a batch of 300 kg", "30 kg more", -135.0, -134.0, -136.0),
            "A batch of 300 kg: 30 kg more would cost €135.00.",
        ),
        (
            step("heat of at least 9 SHU", "0.1 SHU lower", 3.0, 2.0, 3.5),
            "Heat of at least 9 SHU: 0.1 SHU lower would save €3.00 (€2.00 to €3.50).",
        ),
    ],
)
def test_what_a_step_of_a_limit_saves_is_said_in_money_and_how_far_it_is_proven(tried, said):
    assert recipe.binding([tried], currency="EUR") == [said]


def test_money_has_its_sign_and_two_places():
    assert recipe.money(4.3, "EUR", per="kg") == "€4.30/kg"
    assert recipe.money(-12_345.678, "CHF") == "−CHF 12\u202f345.68"
    assert recipe.money(math.nan, "EUR") == "–"


def test_two_drafts_stand_side_by_side_with_what_each_takes():
    every = pd.DataFrame(
        {
            "blend": ["k1", "k2"],
            "name": ["mild", "cheap"],
            "status": ["draft", "draft"],
            "total_kg": [300.0, 300.0],
            "odds": [0.95, None],
            "cost_per_kg": [4.5, 4.2],
            "currency": ["EUR", "EUR"],
        }
    )
    portions = pd.DataFrame(
        {"blend": ["k1", "k1", "k2"], "lot": ["A", "B", "A"], "kg": [200.0, 100.0, 300.0]}
    )
    predicted = pd.DataFrame(
        {
            "blend": ["k1", "k2"],
            "characteristic": "heat",
            "mean": [40_000.0, 30_000.0],
            "standard_deviation": [2_000.0, 1_500.0],
        }
    )

    told = side_by_side(every, portions, predicted)
    table: dict[str, Any] = {row["what"]: row for row in told.to_dict("records")}

    assert list(table["cost"].values())[1:] == ["€4.50/kg", "€4.20/kg"]
    assert list(table["lot B"].values())[1:] == ["100 kg", "–"]
    assert table["odds"]["cheap (draft)"] == "–"


def test_a_lot_that_went_nowhere_and_one_that_must_be_traced_are_told_apart():
    found = pd.DataFrame({"lot": ["B-1"], "share": [0.5], "material": ["m"], "decision": [""]})

    assert kept.traced("A", found.iloc[:0]) == "Lot A went into no blend."
    assert kept.traced("A", found) == "Some of lot A is in 1 lot."
    assert trace_table(found)["decision"].tolist() == ["waiting"]
