"""A recipe kept as a draft, and what to expect of kilograms as they were weighed."""

import json
from dataclasses import replace

import pytest

from spc.answers.blends.draft import expected_as_weighed, prediction_as_weighed, recipe_draft
from spc.answers.blends.future import next_lots, supplier_records
from spc.answers.blends.specified_orders import blend_order
from spc.answers.blends.stock_today import heat_bias, stock_for_order
from tests import blend_orders

NAMED = {"name": "mild", "note": ""}


@pytest.fixture
def two_lots():
    return blend_orders.two_lots()


@pytest.fixture
def order():
    return blend_orders.middling_order()


@pytest.fixture(scope="module")
def asked(demo_store):
    """An order of the demo's cayenne powder, its stock and its recipe."""
    order = replace(
        blend_order(demo_store, "cayenne powder", batch_kg=500.0, heat=42_000.0, within=0.12),
        odds=0.9,
        most_lots=3,
    )
    stock = stock_for_order(demo_store, order)
    return order, stock, order.best_recipe(stock)


def test_a_draft_keeps_what_was_asked_and_a_weighing_as_planned_is_expected_alike(order, two_lots):
    found = order.best_recipe(two_lots)

    kept = recipe_draft(order, found, currency="EUR", learned=0.0, named=NAMED)
    same = expected_as_weighed(
        kept, two_lots.lots, {one.lot: one.kg for one in kept.portions}, learned=0.0
    )

    assert kept.total_kg == pytest.approx(300.0)
    assert json.loads(json.dumps(kept.target))["lower"] == 36_000.0
    for as_weighed, as_planned in zip(same, kept.predicted, strict=True):
        assert as_weighed.mean == pytest.approx(as_planned.mean)
        assert as_weighed.standard_deviation == pytest.approx(
            as_planned.standard_deviation, rel=1e-3
        )
    assert expected_as_weighed(kept, two_lots.lots[:1], {"A": 1.0, "B": 1.0}, learned=0.0) == ()


def test_the_sheet_s_prediction_stands_until_something_else_was_weighed(demo_store, asked):
    order, stock, found = asked
    kept = recipe_draft(order, found, currency=stock.currency, learned=0.0, named=NAMED)
    planned = {one.lot: one.kg for one in kept.portions}
    hottest = max(planned, key=lambda lot: _heat(stock, lot))
    more = {**planned, hottest: planned[hottest] + 25.0}

    hotter = prediction_as_weighed(demo_store, kept, more)

    assert prediction_as_weighed(demo_store, kept, planned) == ()
    assert [one.characteristic for one in hotter] == [one.characteristic for one in kept.predicted]
    assert hotter[0].mean > kept.predicted[0].mean


def _heat(stock, lot):
    return next(one.assays["heat"].value for one in stock.lots if one.code == lot)


def test_what_the_suppliers_of_a_recipe_can_hold_follows_their_own_lots(
    demo_store, demo_survey, asked
):
    order, _, found = asked
    records = supplier_records(demo_store, demo_survey, heat_bias(demo_store))

    heat, *others = next_lots(order, found, records)

    assert "supplier certificate" in records.declared
    assert heat.window.characteristic == "heat"
    assert [one.window.characteristic for one in others] == [
        one.characteristic for one in order.limits
    ]
    assert sum(one.share for one in heat.streams) == pytest.approx(1.0)
    suppliers = {lot.supplier for lot in found.problem.lots}
    assert {one.name for one in heat.streams} <= suppliers
