"""Sampling plans as the dossier says and draws them."""

import json

import pytest
import vl_convert

from dashboard.frame.charts.spec import as_spec
from dashboard.lots import words
from dashboard.lots.charts.acceptance_curve import COLUMNS, acceptance_curve_chart
from dashboard.lots.tables import acceptance_frame
from spc.answers import sampling

ASKED = sampling.MeanPlanTerms(
    accepted=40_000.0,
    rejected=34_000.0,
    within_cv=0.08,
    method_cv=0.05,
    cost_increment=2.0,
    cost_test=15.0,
)


def test_a_plan_by_mean_says_what_it_costs():
    plan = sampling.plan_by_mean(ASKED)

    said = words.plan_sentence(plan)

    assert f"Mix {plan.increments} increments" in said
    assert "accept if the average is at least" in said


def test_a_plan_by_share_is_told_in_a_sentence():
    plan = sampling.plan_by_share(aql_pct=2.5, rql_pct=15.0)

    assert words.plan_sentence(plan).startswith(f"Test {plan.n} packages singly")


def test_only_the_two_lots_that_a_plan_was_made_for_are_named():
    plan = sampling.plan_by_share(aql_pct=2.5, rql_pct=15.0)
    curve = sampling.curve_of_shares(plan, aql_pct=2.5, rql_pct=15.0)

    frame = acceptance_frame(curve)

    assert tuple(frame.columns) == COLUMNS
    assert frame["x"].is_monotonic_increasing
    named = frame[frame["point"] != ""]
    assert named["x"].tolist() == [2.5, 15.0]
    assert tuple(named["chance"]) == curve.chance_made_for


@pytest.mark.parametrize("title", ["share outside (%)", "mean (SHU)"])
def test_the_curve_is_drawn_without_data_of_its_own(title):
    spec = as_spec(acceptance_curve_chart(title=title))
    frame = acceptance_frame(sampling.curve_of_means(sampling.plan_by_mean(ASKED), ASKED))
    rows = json.loads(frame.to_json(orient="records"))

    picture = vl_convert.vegalite_to_svg({**spec, "data": {"values": rows}, "width": 400})

    assert all("data" not in layer for layer in spec["layer"])
    assert title in picture
    assert "000: accepted" in picture
    assert "NaN" not in picture
