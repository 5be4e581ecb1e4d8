"""Sampling plans keep the risks they state, and lots are inspected by how the last ones went."""

import numpy as np
import pytest

from spc.answers import sampling

ASKED = sampling.MeanPlanTerms(
    accepted=40_000.0,
    rejected=34_000.0,
    within_cv=0.08,
    method_cv=0.05,
    cost_increment=2.0,
    cost_test=15.0,
)


def test_a_plan_by_share_keeps_both_risks_on_its_curve():
    plan = sampling.plan_by_share(aql_pct=2.5, rql_pct=15.0)

    curve = sampling.curve_of_shares(plan, aql_pct=2.5, rql_pct=15.0)

    good, bad = curve.chance_made_for
    assert good >= 0.95 - 1e-3
    assert bad <= 0.10 + 1e-3
    assert (np.diff(curve.chance) <= 1e-12).all()


def test_a_plan_by_mean_keeps_both_risks_on_its_curve():
    plan = sampling.plan_by_mean(ASKED)

    curve = sampling.curve_of_means(plan, ASKED)

    good, bad = curve.chance_made_for
    assert good >= 0.95 - 1e-2
    assert bad <= 0.10 + 1e-2


def test_a_lot_is_inspected_by_the_decided_lots_of_its_supplier_and_material(demo_store):
    lot = demo_store.lot("R26-0140")
    lots = demo_store.lots()
    earlier = lots[
        (lots["material"] == lot.material)
        & (lots["supplier"] == lot.supplier)
        & (lots["received_at"] < lot.received_at)
        & ~lots["decision"].isin(["", "on hold"])
    ]

    history = sampling.inspection_history(demo_store, lot)
    found = sampling.inspection(demo_store, lot)

    assert history.count("accepted") == (earlier["decision"] == "accepted").sum()
    assert len(history) == len(earlier) > 0
    assert found.level.lots <= len(history)
    assert found.skip.reason


def test_the_heats_to_tell_apart_are_those_of_the_newest_specification(demo_store):
    catalogue = demo_store.catalogue()

    accepted, rejected = sampling.heats_to_tell_apart(catalogue, "cayenne powder")

    assert rejected == 30_000.0
    assert accepted > rejected
    assert sampling.heats_to_tell_apart(catalogue, "nothing specified") == (12_000.0, 10_000.0)


@pytest.mark.parametrize("convention", ["EU mycotoxins", "square root"])
def test_a_lot_is_sampled_as_it_is_packed(demo_store, convention):
    lot = demo_store.lot("R26-0140")

    found = sampling.sampling_of_lot(demo_store.catalogue(), lot, convention)

    assert found.convention == convention
    assert found.increments >= 1
    assert found.packages_to_open is None or found.packages_to_open <= (lot.packages or 0)
