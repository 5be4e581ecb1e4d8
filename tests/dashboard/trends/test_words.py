"""What Trends says: before a baseline is frozen, what rules cost, what was found out."""

from dataclasses import asdict, replace

import numpy as np
import pandas as pd
import pytest

from dashboard.frame import stream_words
from dashboard.trends import words
from spc.charts import DEFAULT_RULES, price
from spc.store import StreamKey
from tests.dashboard.streams import HEAT, zigzag


@pytest.mark.parametrize(("basis", "end"), [("as-is", ""), ("", ""), ("dry", ", dry")])
def test_a_stream_names_its_basis_where_it_is_not_the_usual_one(basis, end):
    key = StreamKey(**{**asdict(HEAT), "basis": basis})

    assert words.stream_name(key) == f"cayenne powder from North Mill: heat by rapid sensor{end}"


# Before a baseline is frozen


def test_nothing_is_suggested_where_nothing_stands_out(charted, steady):
    points = charted({"values": steady(30, seed=6)}).points

    assert words.suggested(points) == ["Nothing stands out in these lots."]


def test_a_lot_far_from_the_others_is_named(charted, steady):
    values = [*steady(15), 90_000.0, *steady(9, seed=8)]

    said = words.suggested(charted({"values": values}).points)

    assert "Far from the others: L-16." in said


def test_few_lots_do_not_choose_a_scale(charted, steady):
    said = words.suggested(charted({"values": steady(9, seed=11)}).points)

    assert "Too few lots to say whether a linear or a log scale fits better." in said


def test_the_scale_that_fits_the_shape_is_told(charted):
    skewed = [float(one) for one in np.exp(np.random.default_rng(3).normal(3.0, 0.9, 40))]

    said = words.suggested(charted({"values": skewed, "scale": "linear"}).points)

    assert "The log scale fits the shape of these lots better." in said


def test_lots_that_resemble_the_one_before_make_limits_tight(charted):
    generator = np.random.default_rng(2)
    level, logs = 0.0, []
    for noise in generator.normal(0.0, 0.05, 40):
        level = 0.8 * level + noise
        logs.append(level)

    said = words.suggested(charted({"values": list(4e4 * np.exp(logs))}).points)

    assert any(one.startswith("Lots resemble the one before (correlation 0.") for one in said)


def test_a_baseline_across_a_step_is_warned_of(charted):
    points = charted({"values": [*zigzag(10), *zigzag(10, 58_000.0, 62_000.0)]}).points

    assert stream_words.changed(points) in words.suggested(points)


@pytest.mark.parametrize(
    ("values", "said"),
    [
        (zigzag(4), "No suggestion: needs at least 8 lots, but 4 were given."),
        ([4e4] * 9, "No suggestion: all 9 values are 40000, so they show no spread"),
    ],
)
def test_what_cannot_be_looked_at_is_refused_in_a_sentence(charted, values, said):
    (only,) = words.suggested(charted({"values": values}).points)

    assert only.startswith(said)


def test_a_value_without_a_logarithm_is_refused_in_a_sentence(charted):
    points = charted({"values": zigzag(10), "scale": "linear"}).points
    points = points.assign(scale="log", value=points["value"] - points["value"].min())

    assert words.suggested(points)[0].startswith("No suggestion: value 0 at position 0 has no log")


def test_lots_known_as_bounds_only_suggest_nothing(charted):
    points = charted({"values": zigzag(10), "censored": [1] * 10}).points

    assert words.suggested(points)[0].startswith("No suggestion: needs at least 8 lots")


# What the rules cost


def test_an_exact_price_is_told_without_about():
    said = words.priced(price(("beyond limits",), lots_per_month=2.0))

    assert said == (
        "With these rules and your 2 lots a month, expect one false alarm in 370 lots (185"
        " months); a supplier who moves by one sigma is noticed after 44 lots. Both are worked out"
        " exactly, for normal lots and known limits."
    )


def test_the_rules_that_are_usual_have_an_exact_price_too():
    said = words.priced(price(DEFAULT_RULES, lots_per_month=2.5))

    assert "your 2.5 lots a month, expect one false alarm in 89 lots" in said
    assert "is noticed after 10 lots. Both are worked out exactly" in said


def test_a_simulated_price_is_told_with_about_and_how_good_it_is():
    exact = price(DEFAULT_RULES, lots_per_month=2.5)

    said = words.priced(replace(exact, exact=False, false_alarm_standard_error=0.62))

    assert "expect one false alarm in about 89 lots" in said
    assert said.endswith("Both are averages of simulated streams, good to about 1.4%.")


def test_one_lot_a_month_is_one_lot():
    assert "your 1 lot a month" in words.priced(price(("beyond limits",), lots_per_month=1.0))


@pytest.mark.parametrize("name", ["moving range", "standard deviation", "prediction", "guaranteed"])
def test_a_kind_of_limits_is_told_by_its_name(name):
    assert name in words.kind(name)


def test_every_view_but_the_plain_one_is_explained_with_its_source():
    unexplained = [view for view, said in words.VIEW_SENTENCES.items() if not said]

    assert unexplained == ["lot values"]
    assert all("(" in said for said in words.VIEW_SENTENCES.values() if said)


# Signals and what was found out


def test_the_rules_of_a_lot_stand_together_newest_lot_first(charted):
    survey = charted({"values": [*zigzag(12), 60_000.0, 61_000.0, 62_000.0], "baseline": 12})

    rules = words.rules_by_lot(survey.signals())

    assert list(rules) == ["L-15", "L-14", "L-13"]
    assert words.signalled(rules, "L-13") == "L-13: beyond limits"
    assert words.signalled(rules, "L-15").startswith("L-15: beyond limits, two of three far out")


def test_an_open_investigation_is_chosen_by_its_lot_and_cause():
    frame = pd.DataFrame({"lot": ["L-13"], "cause": ["new mill screen"]})

    assert words.opened(frame) == ["L-13: new mill screen"]
