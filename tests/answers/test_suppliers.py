"""Suppliers held against each other: what was planted of them is found, and nothing else."""

import pytest

from spc.answers.cost import CostOfHeat
from spc.answers.suppliers import compare_suppliers
from spc.compare.between_suppliers.crop_drift import CropDrift
from spc.errors import InvalidInput, UnknownName
from tests.supplier_stories import compared, four_stories, supplier


@pytest.fixture(scope="module")
def stories():
    return four_stories()


def test_who_drifts_who_is_biased_and_who_is_uneven_is_what_was_planted(stories):
    assert stories.drifting == ("Drift Farm",)
    assert stories.biased == ("Drift Farm",)
    assert stories.uneven == ("Bag Works",)


def test_suppliers_that_are_alike_neither_drift_nor_differ_within_their_lots():
    shown = compared(*(supplier(f"Mill {sign}", 25) for sign in "ABCDE"))

    assert shown.drifting == ()
    assert shown.biased == ()


def test_spreads_come_with_their_ends_for_every_supplier(stories):
    between, within = stories.between_lots, stories.within_a_lot
    at = stories.suppliers.supplier.index("Bag Works")

    assert between.shape == within.shape == (4, 3)
    assert within[at, 0] == pytest.approx(0.18, rel=0.15)
    assert within[at, 1] < within[at, 0] < within[at, 2]


def test_heat_is_brought_to_one_factor_before_it_is_paid_for(stories):
    mine = stories.found.lots.query("supplier == 'Steady Mill'")
    paid, heat = 3.0 * 1000.0 * len(mine), (mine["value"] * 16.1 / 16.0).sum() * 1000.0

    cost = stories.cost_of_heat

    assert isinstance(cost, CostOfHeat)
    found = dict(zip(cost.by_supplier.supplier, cost.by_supplier.cost, strict=True))
    assert found["Steady Mill"] == pytest.approx(1000.0 * paid / heat)


def test_what_cannot_be_said_is_a_sentence(stories):
    unknown = compared(supplier("Mill"), characteristic="moisture", scale="linear", basis="")

    assert stories.belief["New Grower"] == "2 of its lots can be compared; 3 are needed."
    assert unknown.cost_of_heat == "No own result of heat is known for this material."


def test_without_own_results_nothing_is_compared():
    with pytest.raises(InvalidInput, match="no lots"):
        compared(supplier("Mill", 0))


def test_a_store_s_material_is_compared_by_its_heat_and_held_to_its_specification(demo_store):
    found = compare_suppliers(demo_store, "cayenne powder")

    assert found.found.characteristic == "heat"
    assert found.line is not None
    assert found.line.lower == 30_000.0
    drift = found.drift["North Fen Spices"]
    assert isinstance(drift, CropDrift)
    assert drift.enough
    assert "North Fen Spices" in found.drifting


def test_an_unknown_material_is_named_with_those_there_are(demo_store):
    with pytest.raises(UnknownName, match="cayenne powder"):
        compare_suppliers(demo_store, "cayenne powdr")
