"""Other ways to look at a stream show what their statistics compute, in the lots' own terms."""

import numpy as np
import pytest

from dashboard.frame import stream_tables
from spc import charts
from spc.answers import streams
from spc.charts import DEFAULT_RULES
from spc.charts.stages import Stage, staged
from spc.errors import InvalidInput, TooFewLots
from spc.store import StreamKey

HEAT = StreamKey(
    material="cayenne powder", supplier="North Mill", characteristic="heat", method="rapid sensor"
)
MOISTURE = {
    "characteristic": "moisture",
    "method": "moisture balance",
    "scale": "linear",
    "unit": "g/100 g",
    "basis": "",
}
COLOUR = {**MOISTURE, "characteristic": "colour", "method": "colorimetry", "unit": "ASTA units"}
NOBODY = frozenset[str]()


def drawn(survey):
    points = survey.points
    return stream_tables.stream_frame(points, survey.signals(), line=None), points


def dried(count, seed=3):
    return list(np.random.default_rng(seed).normal(8.0, 0.4, count))


# The average that remembers


@pytest.mark.parametrize(("scale", "level"), [("log", 40_000.0), ("linear", 8.0)])
def test_the_weighted_average_is_the_charts_own_in_the_unit_of_the_lots(
    charted, steady, scale, level
):
    survey = charted({"values": steady(24, level=level), "scale": scale, "baseline": 16})
    frame, points = drawn(survey)
    lots = points["value"].to_numpy()
    worked, back = (np.log(lots), np.exp) if scale == "log" else (lots, np.asarray)
    known = charts.individuals(worked[:16])

    shown = streams.weighted_average(frame, points)

    expected = charts.ewma(worked, target=known.center, sigma=known.sigma)
    np.testing.assert_allclose(shown["value"], back(expected.values))
    np.testing.assert_allclose(shown["lower"], back(expected.lower))
    np.testing.assert_allclose(shown["upper"], back(expected.upper))
    assert (shown["signal"] != "").tolist() == expected.signals.tolist()


def test_a_lasting_move_shows_in_the_average_before_it_shows_in_a_lot(charted):
    base = [3.9e4, 4.1e4] * 8
    survey = charted({"values": [*base, *[4.3e4] * 8], "baseline": 16})
    frame, points = drawn(survey)

    shown = streams.weighted_average(frame, points)

    assert (np.abs(points["z"]) < 3.0).all()
    assert (shown["signal"] != "").tolist()[16:].index(True) < 8


def test_a_lot_known_as_a_bound_leaves_the_average_where_it_was(charted, steady):
    survey = charted({"values": steady(12), "censored": [0] * 10 + [1, 0]})
    frame, points = drawn(survey)

    value = streams.weighted_average(frame, points)["value"].tolist()

    assert value[10] == value[9]
    assert value[11] != value[10]


@pytest.mark.parametrize("kind", ["moving range", "prediction", "guaranteed"])
def test_the_average_has_the_unit_of_the_lots_whatever_the_kind_of_limits(charted, steady, kind):
    frame, points = staged_by(charted({"values": steady(16)}), [(0, slice(0, 8), kind)])

    shown = streams.weighted_average(frame, points)

    worked = np.log(points["value"].to_numpy())
    expected = charts.ewma(worked, target=float(points["center"].iloc[0]), sigma=1.0).values
    np.testing.assert_allclose(np.log(shown["value"]), expected)


def test_the_average_follows_the_limits_of_each_stage(charted, steady):
    values = [*steady(10), *steady(10, level=60_000.0, seed=6)]
    stages = [(0, slice(0, 10), "moving range"), (10, slice(10, 20), "moving range")]
    frame, points = staged_by(charted({"values": values}), stages)

    shown = streams.weighted_average(frame, points)

    centers = np.exp(points["center"])
    assert 1.3 * centers.iloc[9] < centers.iloc[10]
    assert (shown["lower"] < centers).all()
    assert (centers < shown["upper"]).all()
    assert not (shown["signal"] != "").any(), "a move that the new limits allow for is none"


def staged_by(survey, stages):
    """A drawn stream whose limits were frozen for several stages."""
    points = survey.points
    count = len(points)
    judged = staged(
        points["value"],
        points["censored"],
        [
            Stage(
                first=first,
                baseline=np.isin(np.arange(count), np.arange(count)[lots]),
                kind=kind,
                rules=DEFAULT_RULES,
            )
            for first, lots, kind in stages
        ],
        scale="log",
    )
    names = ("center", "sigma", "lower", "upper", "size", "z")
    points = points.assign(**{name: getattr(judged, name) for name in names})
    return stream_tables.stream_frame(points, survey.signals(), line=None), points


# Running sums


def test_running_sums_are_the_charts_own_one_up_and_one_down(charted, steady):
    frame, points = drawn(charted({"values": steady(24), "baseline": 16}))

    shown = streams.running_sums(frame, points)

    expected = charts.cusum(points["z"], target=0.0, sigma=1.0)
    np.testing.assert_allclose(shown["above"], expected.high)
    np.testing.assert_allclose(shown["below"], -expected.low)
    assert set(shown["decision"]) == {expected.decision}
    assert (shown["above"] >= 0.0).all()
    assert (shown["below"] <= 0.0).all()


def test_a_supplier_who_moved_up_signals_above_and_not_below(charted):
    frame, points = drawn(charted({"values": [*[3.9e4, 4.1e4] * 8, *[4.3e4] * 8], "baseline": 16}))

    shown = streams.running_sums(frame, points)

    late = shown.iloc[-1]
    assert late["signal"] != ""
    assert late["above"] > late["decision"] > -late["below"]


# Scores without a baseline


def test_scores_begin_with_the_third_lot_and_are_the_charts_own(charted, steady):
    survey = charted({"values": steady(12)})
    frame, points = drawn(survey)

    shown = streams.scores(frame, points)

    expected = charts.self_starting(np.log(points["value"]))
    assert shown["lot"].tolist() == points["lot"].tolist()[2:]
    np.testing.assert_allclose(shown["value"], expected[2:])
    assert shown["value"].notna().all()
    assert shown["label"].str.fullmatch(r"[+-]\d+\.\d\d").all()
    assert (set(shown["lower"]), set(shown["upper"])) == ({-3.0}, {3.0})


def test_a_lot_known_as_a_bound_leaves_a_gap_in_the_scores(charted, steady):
    values = steady(12)
    whole = charted({"values": values[:6] + values[7:]})
    frame, points = drawn(charted({"values": values, "censored": [0] * 6 + [1] + [0] * 5}))

    shown = streams.scores(frame, points)

    assert "L-07" not in shown["lot"].tolist()
    assert 7 not in shown["order"].tolist(), "the others keep their places"
    without = streams.scores(*drawn(whole))
    np.testing.assert_allclose(shown["value"], without["value"])


def test_two_lots_have_no_score_yet(charted):
    assert streams.scores(*drawn(charted({"values": [4e4, 4.1e4]}))).empty


def test_the_scale_decides_what_a_score_is_taken_of(charted, steady):
    values = steady(10, level=8.0)

    linear = streams.scores(*drawn(charted({"values": values, "scale": "linear"})))
    log = streams.scores(*drawn(charted({"values": values})))

    np.testing.assert_allclose(linear["value"], charts.self_starting(np.array(values))[2:])
    assert not np.allclose(linear["value"], log["value"])


# All characteristics together


def test_the_distance_of_two_characteristics_is_the_charts_own(charted, steady):
    heat, moisture = steady(20), dried(20)
    survey = charted({"values": heat}, {"values": moisture, **MOISTURE})

    frame, shares = streams.together(survey, HEAT, NOBODY)

    expected = charts.t_squared(np.column_stack([np.log(heat), moisture]))
    np.testing.assert_allclose(frame["value"], expected.values)
    np.testing.assert_allclose(frame["upper"], expected.upper)
    assert shares.columns.tolist() == ["lot", "heat", "moisture"]
    assert shares["lot"].tolist() == frame["lot"].tolist()[::-1]
    np.testing.assert_allclose(
        shares[["heat", "moisture"]].to_numpy()[::-1], expected.contributions, atol=0.005
    )


def test_what_characteristics_add_is_less_than_the_distance_where_they_do_not_move_together(
    charted, steady
):
    survey = charted({"values": steady(40)}, {"values": dried(40), **MOISTURE})

    frame, shares = streams.together(survey, HEAT, NOBODY)

    added = shares[["heat", "moisture"]].sum(axis=1).to_numpy()[::-1]
    assert (shares[["heat", "moisture"]] >= 0.0).all(axis=None)
    np.testing.assert_allclose(added, frame["value"], rtol=0.6, atol=0.6)


def test_a_lot_that_breaks_the_pattern_is_called_out_by_its_characteristic(charted):
    wet = np.array(dried(24))
    hot = 4e4 * np.exp(-0.3 * (wet - 8.0) + np.random.default_rng(9).normal(0.0, 0.005, 24))
    hot[-1] *= 1.1
    survey = charted(
        {"values": list(hot), "baseline": 23}, {"values": list(wet), "baseline": 23, **MOISTURE}
    )

    frame, _ = streams.together(survey, HEAT, NOBODY)

    assert abs(survey.points.loc[23, "z"]) < 3.0, "the value alone is not odd"
    assert frame["signal"].iloc[-1].startswith("outside, mostly ")


def test_only_lots_with_every_characteristic_are_shown_in_order_of_receipt(charted, steady):
    censored = [0] * 5 + [1] + [0] * 14
    survey = charted(
        {"values": steady(20), "censored": censored}, {"values": dried(20), **MOISTURE}
    )

    frame, _ = streams.together(survey, HEAT, NOBODY)

    assert len(frame) == 19
    assert "L-06" not in frame["lot"].tolist()
    assert frame["at"].is_monotonic_increasing
    assert frame["order"].tolist() == list(range(1, 20))


def test_a_characteristic_measured_of_few_lots_does_not_cost_the_others(charted, steady):
    survey = charted(
        {"values": steady(20)},
        {"values": dried(20), **MOISTURE},
        {"values": [120.0, 125.0, 122.0], **COLOUR},
    )

    frame, shares = streams.together(survey, HEAT, NOBODY)

    assert len(frame) == 20
    assert "colour" not in shares.columns


def test_the_word_of_the_supplier_does_not_count_as_a_measurement(charted, steady):
    declared = {"values": steady(30, seed=8), "method": "supplier certificate"}
    survey = charted({"values": steady(20)}, declared, {"values": dried(20), **MOISTURE})

    frame, _ = streams.together(survey, HEAT, frozenset({"supplier certificate"}))

    own = charts.t_squared(np.column_stack([np.log(steady(20)), dried(20)]))
    np.testing.assert_allclose(frame["value"], own.values)


def test_one_characteristic_is_no_togetherness(charted, steady):
    survey = charted({"values": steady(20)})

    with pytest.raises(InvalidInput, match="fewer than two characteristics") as refused:
        streams.together(survey, HEAT, NOBODY)

    assert "cayenne powder from North Mill" in str(refused.value)


def test_a_supplier_of_whom_nothing_but_certificates_is_known_is_refused(charted, steady):
    survey = charted({"values": steady(20), "method": "supplier certificate"})

    with pytest.raises(InvalidInput, match="fewer than two characteristics"):
        streams.together(survey, HEAT, frozenset({"supplier certificate"}))


def test_too_few_lots_in_common_are_refused_with_their_number(charted, steady):
    survey = charted({"values": steady(3)}, {"values": dried(3), **MOISTURE})

    with pytest.raises(TooFewLots, match="at least 4 lots, but 3 were given"):
        streams.together(survey, HEAT, NOBODY)


def within(demo_store, material, supplier):
    key = StreamKey(
        material=material, supplier=supplier, characteristic="heat", method="rapid sensor"
    )
    survey = demo_store.sweep(material=material, supplier=supplier)
    points, signals = survey.of(key), survey.signals()
    mine = signals[signals["stream"] == points["stream"].iloc[0]]
    frame = stream_tables.stream_frame(points, mine, line=None)
    return (*streams.spread_within(frame, demo_store.stream(key)), points)


def test_the_supplier_with_uneven_bags_is_seen_by_the_spread_within_his_lots(demo_store):
    """Dunmarsh's flakes differ by 18 % from bag to bag, others by 4 to 6 %."""
    _, uneven, _ = within(demo_store, "chilli flakes", "Dunmarsh Ingredients")
    _, even, _ = within(demo_store, "chilli flakes", "Eastlode Mills")

    assert uneven.within_sigma == pytest.approx(0.18, abs=0.03)
    assert even.within_sigma < 0.09


def test_the_spread_drawn_is_the_lot_s_own_and_open_lots_are_left_out(demo_store):
    frame, found, points = within(demo_store, "ground habanero", "Copperfen Peppers")

    exact = points[points["censored"] == 0]
    assert (points["censored"] != 0).any()
    assert frame["lot"].tolist() == exact["lot"].tolist()
    assert frame["value"].to_numpy() == pytest.approx(exact["spread"].to_numpy())
    assert frame["order"].tolist() == list(range(1, len(exact) + 1))
    assert found.size == len(exact)
    assert (frame["upper"] > frame["center"]).all()


def test_average_and_sums_begin_anew_where_a_stage_does(charted, steady):
    """A new crop owes nothing to the one before: both are as if the stream began there."""
    frame, points = drawn(charted({"values": [*steady(10), *steady(10, level=52_000.0, seed=6)]}))
    begun = points.assign(restart=np.arange(20) == 10)

    average = streams.weighted_average(frame, begun)
    sums = streams.running_sums(frame, begun)

    alone = points.iloc[10:]
    assert average["value"].iloc[10:].to_numpy() == pytest.approx(
        streams.weighted_average(frame.iloc[10:], alone)["value"].to_numpy()
    )
    own = charts.cusum(alone["z"], target=0.0, sigma=1.0)
    assert sums["above"].iloc[10:].to_numpy() == pytest.approx(own.high)
    assert sums["above"].iloc[:10].to_numpy() == pytest.approx(
        charts.cusum(points["z"].iloc[:10], target=0.0, sigma=1.0).high
    )
