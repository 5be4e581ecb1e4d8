"""Orders, stock and recipes: what a blend is asked, drawn from, drawn as and told as."""

import json
import math
from dataclasses import replace
from datetime import date
from itertools import pairwise
from typing import Any

import pandas as pd
import pytest
import vl_convert

from dashboard.blends.charts import cost
from dashboard.blends.charts import outcome as charts_outcome
from dashboard.blends.charts import recipe as charts_recipe
from dashboard.blends.tables import kept as tables_kept
from dashboard.blends.tables import outlook, recipe
from dashboard.blends.tables import picture as tables_picture
from dashboard.blends.words import outlook as words_outlook
from dashboard.blends.words import recipe as words_recipe
from dashboard.blends.words.recipe import money
from dashboard.frame.charts.spec import as_spec
from spc.answers import outlook as answers_outlook
from spc.answers.draft import draft, expected
from spc.answers.order import BlendOrder, Limit, newest
from spc.answers.stock import HEAT, Wanted, larder, within_sigmas
from spc.blend.explain.shadow import ShadowPrice
from spc.blend.outlook.learning import learned_bias
from spc.blend.outlook.outlook import GAP
from spc.blend.outlook.sensitivity import one_more_test
from spc.errors import InvalidInput, NoRecipe, UnknownName
from spc.store.blends.stock import Stock

WITHIN = 0.06


def stock(*lots):
    """Lots of cayenne powder: number, heat, price, kilograms, and what is special about each."""
    rows, assays = [], []
    for name, heat, price, kg, special in lots:
        rows.append(
            {
                "lot": name,
                "material": "cayenne powder",
                "supplier": f"Mill {name}",
                "origin": "Southern Plain",
                "price_per_kg": price,
                "currency": "EUR",
                "received_at": pd.Timestamp("2026-10-01"),
                "available_kg": kg,
                "reserved_kg": 0.0,
                "bags": kg // 25,
                "bag_kg": 25.0,
                "opened_kg": kg % 25,
                "expires_on": "",
                "age_days": 50,
                "valid_days": 365.0,
                "barred": "",
                **{key: value for key, value in special.items() if key in ("barred", "currency")},
            }
        )
        for characteristic, unit, scale, mean in (
            ("heat", "SHU", "log", heat),
            ("moisture", "g/100 g", "linear", 9.0),
        ):
            if special.get("without") == characteristic:
                continue
            assays.append(
                {
                    "lot": name,
                    "characteristic": characteristic,
                    "unit": unit,
                    "scale": scale,
                    "basis": "as-is" if characteristic == "heat" else "",
                    "mean": mean,
                    "uncertainty": 0.05 * mean,
                    "sampling": 0.02 * mean,
                    "method_part": 0.03 * mean,
                    "method": "sensor",
                    "samples": special.get("samples", 5),
                    "readings": 15,
                    "age_days": 40.0,
                    "bound": special.get("bound", "") if characteristic == "heat" else "",
                }
            )
    return Stock(lots=pd.DataFrame(rows), assays=pd.DataFrame(assays))


def wanted(bias=None):
    return Wanted(
        materials=("cayenne powder",),
        basis={"heat": "as-is", "moisture": ""},
        within_sigma=within_sigmas({"cayenne powder": WITHIN}),
        today=date(2026, 11, 20),
        heat_bias=bias,
    )


@pytest.fixture
def two_lots():
    return larder(stock(("A", 30_000.0, 4.0, 500.0, {}), ("B", 60_000.0, 6.0, 510.0, {})), wanted())


@pytest.fixture
def order():
    return BlendOrder(
        material="cayenne powder",
        drawn_from=("cayenne powder",),
        batch_kg=300.0,
        heat=40_000.0,
        lower=36_000.0,
        upper=44_000.0,
        odds=0.9,
        limits=(Limit(characteristic="moisture", unit="g/100 g", lower=None, upper=11.0),),
    )


def test_kilograms_mix_by_arithmetic_means_and_one_composite_is_one_already(two_lots):
    several = two_lots.lots[0].assays["heat"].value
    single = larder(stock(("A", 30_000.0, 4.0, 500.0, {"samples": 1})), wanted())

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

    held = larder(stock(*lots, ("C", 60_000.0, 6.0, 500.0, special)), wanted())

    assert [lot.code for lot in held.lots] == ["A", "B"]
    assert [(one.code, one.reason) for one in held.left_out] == [("C", reason)]


def test_a_barred_lot_is_never_offered_and_is_told_with_its_reason(order):
    reason = "the safety line aflatoxin B1 is not conforming, and mixing does not make it compliant"
    every = stock(
        ("A", 30_000.0, 4.0, 500.0, {}),
        ("B", 60_000.0, 6.0, 500.0, {}),
        ("C", 40_000.0, 0.1, 500.0, {"barred": reason}),
    )
    held = larder(every, wanted())

    found = order.answered(held)
    table, _ = recipe.left_out_table(every.lots, held, order.drawn_from)

    assert set(found.portions.lot) == {"A", "B"}
    assert table["why it is not offered"].tolist() == [reason]
    assert "mixed with food" in words_recipe.MIXING


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

    moved = larder(every, wanted(bias))

    ratio = moved.lots[0].assays["heat"].value / two_lots.lots[0].assays["heat"].value
    assert ratio == pytest.approx(math.exp(bias.bias))
    assert "cannot be said yet" in words_recipe.learnt(learned_bias(frame.iloc[:2]))
    assert "By 3 blends measured so far, blends come out −9." in words_recipe.learnt(bias)


def test_the_first_line_says_what_can_be_made_from_what_for_what_and_how_sure(order, two_lots):
    found = order.answered(two_lots)

    said = words_recipe.answer(order, found, currency="EUR")

    assert said.startswith("**40\u202f000 SHU ± 10 % can be made today from 2 lots for €")
    assert "odds that its true heat lies inside are 9" in said
    assert found.predicted[0].odds >= 0.9


def test_what_cannot_be_made_says_what_conflicts_and_what_would_help(order, two_lots):
    hotter = replace(order, heat=90_000.0, lower=85_000.0, upper=95_000.0)

    with pytest.raises(NoRecipe) as refused:
        hotter.answered(two_lots)

    said = words_recipe.no_answer(hotter, refused.value)
    assert "cannot be made today:" in said
    assert "odds of 90 %" in said
    assert all(one in words_recipe.cures(refused.value) for one in refused.value.cures)


def test_the_picture_holds_the_window_every_lot_the_portions_and_the_outcome(order, two_lots):
    found = order.answered(two_lots)

    frame, rows = tables_picture.picture_frame(order, two_lots, found)

    kinds = frame.groupby("kind").size()
    assert (kinds["band"], kinds["lot"], kinds["portion"], rows) == (1, 2, 2, 2)
    curve = frame[frame["kind"] == "curve"]
    top = curve.sort_values("top").iloc[-1]
    assert top["heat"] == pytest.approx(found.predicted[0].mean)
    words = frame.loc[frame["kind"] == "portion", "top"]
    assert words.is_unique
    assert words.max() < curve["base"].min()
    assert curve["top"].max() <= charts_recipe.blend_height(rows)


def test_a_conflict_that_may_not_be_the_smallest_says_so(order):
    unsettled = NoRecipe(["a batch of 300 kg", "at most 2 lots"], [], smallest=False)

    said = words_recipe.no_answer(order, unsettled)

    assert said.endswith(
        f"a batch of 300 kg and at most 2 lots cannot be kept together. {words_recipe.NOT_PROVEN}"
    )
    assert words_recipe.NOT_PROVEN not in words_recipe.no_answer(
        order, NoRecipe(unsettled.conflict, [], smallest=True)
    )


def test_stock_without_a_recipe_is_drawn_without_portions(order, two_lots):
    frame, rows = tables_picture.picture_frame(order, two_lots, None)

    assert rows == 0
    assert set(frame["kind"]) == {"band", "lot"}


def test_every_figure_draws_its_frame(order, two_lots):
    found = order.answered(two_lots)
    picture, rows = tables_picture.picture_frame(order, two_lots, found)
    prices = outlook.price_frame(
        [answers_outlook.Price(asked=0.9, per_kg=4.5, chosen=True)], currency="EUR"
    )
    outcome = tables_kept.outcome_frame(against())
    drawn = [
        (charts_recipe.blend_chart(log=True, unit="SHU"), picture, "R"),
        (cost.cost_chart(title="odds asked (%)", log=False), prices, "odds asked (%)"),
        (charts_outcome.outcome_chart(log=True, unit="SHU"), outcome, "predicted (SHU)"),
    ]
    for chart, frame, _ in drawn:
        spec = {**as_spec(chart), "width": 700, "height": charts_recipe.blend_height(rows)}
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
    frame, table = tables_kept.outcome_frame(against()), tables_kept.outcome_table(against())

    assert (frame["kind"] == "blend").sum() == 1
    assert table["measured"].tolist()[1] == "not measured yet"


def test_the_portions_of_the_table_add_up_to_the_batch_and_its_cost(order, two_lots):
    found = order.answered(two_lots)

    table = recipe.recipe_table(found, currency="EUR")

    assert table["kg"].sum() == pytest.approx(300.0)
    assert recipe.plain_lots(table)["lot"].tolist() == found.portions.lot.tolist()
    assert found.cost == pytest.approx(4.0 * _kg(found, "A") + 6.0 * _kg(found, "B"))


def _kg(found, lot):
    return sum(
        kg
        for code, kg in zip(found.portions.lot.tolist(), found.portions.kg.tolist(), strict=True)
        if code == lot
    )


def test_one_more_test_of_a_lot_never_lowers_the_odds_of_a_mean_inside(order, two_lots):
    found = order.answered(two_lots)

    tests = one_more_test(found, HEAT)

    assert all(one.odds_then >= found.predicted[0].odds for one in tests)
    table = outlook.uncertainty_table(found, tests, currency="EUR")
    assert len(table) == len(found.portions.lot) + len(found.predicted[0].methods)


def test_surer_odds_never_cost_less_and_a_hotter_lot_is_worth_more_where_heat_is_short(
    order, two_lots
):
    prices = answers_outlook.at_odds(order, two_lots)
    hot = replace(order, heat=58_000.0, lower=52_000.0, upper=64_000.0, odds=None)
    worth = answers_outlook.worth(hot, two_lots)

    costs = [one.per_kg for one in prices if not math.isnan(one.per_kg)]
    assert all(b >= a - GAP * a for a, b in pairwise(costs))
    assert [one.chosen for one in prices].count(True) == 1
    known = [one.up_to for one in worth if not math.isnan(one.up_to)]
    assert known[-1] > known[0]


def test_the_levels_that_stock_can_make_lie_between_its_lots(order, two_lots):
    prices = answers_outlook.at_levels(order, two_lots)

    frame = outlook.price_frame(prices, currency="EUR")

    table = outlook.level_table(prices, order, currency="EUR")
    (batch,) = [name for name in table if str(name).endswith("kg cost")]
    made = [one for one in prices if not math.isnan(one.per_kg)]

    assert prices[0].asked >= 30_000.0
    assert batch == "300 kg cost"
    assert table[batch].tolist().count("–") == len(prices) - len(made)
    assert money(300.0 * made[0].per_kg, "EUR") in table[batch].tolist()
    assert order.heat in [one.asked for one in prices]
    assert "today's stock makes" in words_outlook.at_levels(frame, order)


def test_a_draft_keeps_what_was_asked_and_a_weighing_as_planned_is_expected_alike(order, two_lots):
    found = order.answered(two_lots)

    kept = draft(order, found, currency="EUR", learned=0.0, named={"name": "mild", "note": ""})
    same = expected(kept, two_lots.lots, {one.lot: one.kg for one in kept.portions}, learned=0.0)

    assert kept.total_kg == pytest.approx(300.0)
    assert json.loads(json.dumps(kept.target))["lower"] == 36_000.0
    for as_weighed, as_planned in zip(same, kept.predicted, strict=True):
        assert as_weighed.mean == pytest.approx(as_planned.mean)
        assert as_weighed.standard_deviation == pytest.approx(
            as_planned.standard_deviation, rel=1e-3
        )
    assert expected(kept, two_lots.lots[:1], {"A": 1.0, "B": 1.0}, learned=0.0) == ()


@pytest.mark.parametrize(
    ("price", "said"),
    [
        (ShadowPrice(constraint="at most 3 lots", per_unit=-90.0, unit="lot"), "one lot more"),
        (ShadowPrice(constraint="lot A in stock", per_unit=-0.4, unit="kg"), "would save €0.40"),
        (ShadowPrice(constraint="a batch of 9 kg", per_unit=4.5, unit="kg"), "costs €4.50"),
        (
            ShadowPrice(constraint="heat of at least 9 SHU", per_unit=0.03, unit="SHU"),
            "100 SHU lower would save about €3.00",
        ),
        (
            ShadowPrice(constraint="odds", per_unit=84.0, unit="percentage point"),
            "one percentage point less would save about €84.00",
        ),
    ],
)
def test_what_holds_the_cost_up_is_said_in_money(price, said):
    (sentence,) = words_recipe.binding([price], currency="EUR")

    assert said in sentence


def test_money_has_its_sign_and_two_places():
    assert words_recipe.money(4.3, "EUR", per="kg") == "€4.30/kg"
    assert words_recipe.money(-12_345.678, "CHF") == "−CHF 12\u202f345.68"
    assert words_recipe.money(math.nan, "EUR") == "–"


def test_a_material_without_a_specification_is_refused_by_name():
    with pytest.raises(UnknownName, match="paprika"):
        newest([], "paprika")


def test_a_window_upside_down_is_refused(order, two_lots):
    with pytest.raises(InvalidInput):
        replace(order, lower=50_000.0).answered(two_lots)


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

    told = tables_kept.side_by_side(every, portions, predicted)
    table: dict[str, Any] = {row["what"]: row for row in told.to_dict("records")}

    assert list(table["cost"].values())[1:] == ["€4.50/kg", "€4.20/kg"]
    assert list(table["lot B"].values())[1:] == ["100 kg", "–"]
    assert table["odds"]["cheap (draft)"] == "–"


def test_a_lot_that_went_nowhere_and_one_that_must_be_traced_are_told_apart():
    found = pd.DataFrame({"lot": ["B-1"], "share": [0.5], "material": ["m"], "decision": [""]})

    assert words_recipe.traced("A", found.iloc[:0]) == "Lot A went into no blend."
    assert words_recipe.traced("A", found) == "Some of lot A is in 1 lot."
    assert tables_kept.trace_table(found)["decision"].tolist() == ["waiting"]
