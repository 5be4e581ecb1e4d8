"""Sampling plans as the dossier shows them keep the risks they state."""

import json

import numpy as np
import pytest
import vl_convert

from dashboard.frame.charts.spec import as_spec
from dashboard.lots import words
from dashboard.lots.charts.acceptance_curve import acceptance_curve_chart
from spc.answers import sampling

ASKED = sampling.Asked(
    accepted=40_000.0,
    rejected=34_000.0,
    within_cv=0.08,
    method_cv=0.05,
    cost_increment=2.0,
    cost_test=15.0,
)


def test_a_plan_by_share_keeps_both_risks_on_its_curve():
    plan = sampling.by_share(aql_pct=2.5, rql_pct=15.0)

    curve = sampling.curve_of_shares(plan, aql_pct=2.5, rql_pct=15.0)

    named = curve[curve["point"] != ""].set_index("x")["chance"]
    assert named.loc[2.5] >= 0.95 - 1e-3
    assert named.loc[15.0] <= 0.10 + 1e-3
    assert (np.diff(curve["chance"]) <= 1e-12).all()


def test_a_plan_by_mean_keeps_both_risks_and_says_what_it_costs():
    plan = sampling.by_mean(ASKED)

    curve = sampling.curve_of_means(plan, ASKED)

    named = curve[curve["point"] != ""].set_index("x")["chance"]
    assert named.loc[40_000.0] >= 0.95 - 1e-2
    assert named.loc[34_000.0] <= 0.10 + 1e-2
    assert f"Mix {plan.increments} increments" in words.told(plan)
    assert "accept if the average is at least" in words.told(plan)


def test_a_plan_by_share_is_told_in_a_sentence():
    plan = sampling.by_share(aql_pct=2.5, rql_pct=15.0)

    assert words.told(plan).startswith(f"Test {plan.n} packages singly")


@pytest.mark.parametrize("title", ["share outside (%)", "mean (SHU)"])
def test_the_curve_is_drawn_without_data_of_its_own(title):
    spec = as_spec(acceptance_curve_chart(title=title))
    frame = sampling.curve_of_means(sampling.by_mean(ASKED), ASKED)
    rows = json.loads(frame.to_json(orient="records"))

    picture = vl_convert.vegalite_to_svg({**spec, "data": {"values": rows}, "width": 400})

    assert all("data" not in layer for layer in spec["layer"])
    assert title in picture
    assert "000: accepted" in picture
    assert "NaN" not in picture
