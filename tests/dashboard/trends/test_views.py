"""Other ways to look at a stream, as their figures draw them: values, limits, labels, signals."""

import numpy as np
import pytest

from dashboard.frame import stream_tables
from dashboard.trends.tables import (
    average_frame,
    contributions_table,
    scores_frame,
    spread_frame,
    sums_frame,
    together_frame,
)
from spc.answers import streams
from spc.answers.charted_streams import charted_stream
from spc.answers.together import all_together
from spc.store import StreamKey

MOVED = [*[3.9e4, 4.1e4] * 8, *[4.3e4] * 8]
MOISTURE = {
    "characteristic": "moisture",
    "method": "moisture balance",
    "scale": "linear",
    "unit": "g/100 g",
    "basis": "",
}
HEAT = StreamKey(
    material="cayenne powder", supplier="North Mill", characteristic="heat", method="rapid sensor"
)


def drawn(survey):
    points = survey.points
    return stream_tables.stream_frame(points, survey.signals(), line=None), points


def test_the_average_is_drawn_in_the_unit_with_its_signals(charted):
    frame, points = drawn(charted({"values": MOVED, "baseline": 16}))
    found = streams.weighted_average(points)

    shown = average_frame(frame, found)

    assert shown["lot"].tolist() == points["lot"].tolist()
    np.testing.assert_array_equal(shown["value"], found.value)
    assert (shown["lower"] < shown["upper"]).all()
    assert (shown["signal"] != "").tolist() == found.signals.tolist()
    assert shown["label"].str.endswith("SHU").all()
    assert shown["whisker_low"].isna().all()


def test_the_running_sums_are_drawn_one_up_and_one_down_against_their_decision(charted):
    frame, points = drawn(charted({"values": MOVED, "baseline": 16}))

    shown = sums_frame(frame, streams.running_sums(points))

    assert shown["signal"].iloc[-1] != ""
    assert (shown["above"] >= 0.0).all()
    assert (shown["below"] <= 0.0).all()
    assert shown["decision"].nunique() == 1


def test_a_lot_without_a_score_is_not_drawn_and_the_others_keep_their_places(charted, steady):
    survey = charted({"values": steady(12), "censored": [0] * 6 + [1] + [0] * 5})
    frame, points = drawn(survey)

    shown = scores_frame(frame, streams.scores_without_baseline(points))

    assert shown["order"].tolist() == [3, 4, 5, 6, *range(8, 13)]
    assert shown["label"].str.fullmatch(r"[+-]\d+\.\d\d").all()
    assert (set(shown["lower"]), set(shown["upper"])) == ({-3.0}, {3.0})


def test_two_lots_have_no_score_to_draw(charted):
    frame, points = drawn(charted({"values": [4e4, 4.1e4]}))

    assert scores_frame(frame, streams.scores_without_baseline(points)).empty


def test_the_distance_is_drawn_lot_by_lot_and_tabled_the_newest_first(charted, steady):
    dry = list(np.random.default_rng(3).normal(8.0, 0.4, 20))
    survey = charted({"values": steady(20)}, {"values": dry, **MOISTURE})
    found = all_together(survey, HEAT, frozenset())

    frame, shares = together_frame(found), contributions_table(found)

    np.testing.assert_array_equal(frame["value"], found.distance)
    assert frame["order"].tolist() == list(range(1, 21))
    assert shares.columns.tolist() == ["lot", "heat", "moisture"]
    assert shares["lot"].tolist() == frame["lot"].tolist()[::-1]


def test_a_lot_out_of_step_is_named_with_what_is_mostly_to_blame(charted):
    wet = np.random.default_rng(3).normal(8.0, 0.4, 24)
    hot = 4e4 * np.exp(-0.3 * (wet - 8.0) + np.random.default_rng(9).normal(0.0, 0.005, 24))
    hot[-1] *= 1.1
    survey = charted(
        {"values": list(hot), "baseline": 23}, {"values": list(wet), "baseline": 23, **MOISTURE}
    )

    frame = together_frame(all_together(survey, HEAT, frozenset()))

    assert frame["signal"].iloc[-1].startswith("outside, mostly ")


def test_the_spread_drawn_leaves_open_lots_out(demo_store):
    key = StreamKey(
        material="ground habanero",
        supplier="Copperfen Peppers",
        characteristic="heat",
        method="rapid sensor",
    )
    survey = demo_store.sweep(material=key.material, supplier=key.supplier)
    stream = charted_stream(demo_store, survey, key)
    frame = stream_tables.stream_frame(stream.points, stream.signals, line=None)

    shown = spread_frame(frame, streams.spread_within(demo_store.stream(key)), log=True)

    exact = stream.points[stream.points["censored"] == 0]
    assert shown["lot"].tolist() == exact["lot"].tolist()
    assert shown["value"].to_numpy() == pytest.approx(exact["spread"].to_numpy())
    assert shown["order"].tolist() == list(range(1, len(exact) + 1))
    assert (shown["upper"] > shown["center"]).all()
    assert set(shown["unit"]) == {"share"}
