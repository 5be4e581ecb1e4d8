"""Other ways to look at a stream give what their statistics compute, in the lots' own terms."""

import numpy as np
import pytest

from spc import charts
from spc.answers import streams
from spc.charts import DEFAULT_RULES
from spc.charts.stages import Stage, staged
from spc.store import StreamKey

# The average that remembers


@pytest.mark.parametrize(("scale", "level"), [("log", 40_000.0), ("linear", 8.0)])
def test_the_weighted_average_is_the_charts_own_in_the_unit_of_the_lots(
    charted, steady, scale, level
):
    survey = charted({"values": steady(24, level=level), "scale": scale, "baseline": 16})
    points = survey.points
    lots = points["value"].to_numpy()
    worked, back = (np.log(lots), np.exp) if scale == "log" else (lots, np.asarray)
    known = charts.individuals(worked[:16])

    shown = streams.weighted_average(points)

    expected = charts.ewma(worked, target=known.center, sigma=known.sigma)
    np.testing.assert_allclose(shown.value, back(expected.values))
    np.testing.assert_allclose(shown.lower, back(expected.lower))
    np.testing.assert_allclose(shown.upper, back(expected.upper))
    assert shown.signals.tolist() == expected.signals.tolist()


def test_a_lasting_move_shows_in_the_average_before_it_shows_in_a_lot(charted):
    base = [3.9e4, 4.1e4] * 8
    survey = charted({"values": [*base, *[4.3e4] * 8], "baseline": 16})
    points = survey.points

    shown = streams.weighted_average(points)

    assert (np.abs(points["z"]) < 3.0).all()
    assert shown.signals.tolist()[16:].index(True) < 8


def test_a_lot_known_as_a_bound_leaves_the_average_where_it_was(charted, steady):
    survey = charted({"values": steady(12), "censored": [0] * 10 + [1, 0]})
    points = survey.points

    value = streams.weighted_average(points).value.tolist()

    assert value[10] == value[9]
    assert value[11] != value[10]


@pytest.mark.parametrize("kind", ["moving range", "prediction", "guaranteed"])
def test_the_average_has_the_unit_of_the_lots_whatever_the_kind_of_limits(charted, steady, kind):
    points = staged_by(charted({"values": steady(16)}), [(0, slice(0, 8), kind)])

    shown = streams.weighted_average(points)

    worked = np.log(points["value"].to_numpy())
    expected = charts.ewma(worked, target=float(points["center"].iloc[0]), sigma=1.0).values
    np.testing.assert_allclose(np.log(shown.value), expected)


def test_the_average_follows_the_limits_of_each_stage(charted, steady):
    values = [*steady(10), *steady(10, level=60_000.0, seed=6)]
    stages = [(0, slice(0, 10), "moving range"), (10, slice(10, 20), "moving range")]
    points = staged_by(charted({"values": values}), stages)

    shown = streams.weighted_average(points)

    centers = np.exp(points["center"])
    assert 1.3 * centers.iloc[9] < centers.iloc[10]
    assert (shown.lower < centers).all()
    assert (centers < shown.upper).all()
    assert not shown.signals.any(), "a move that the new limits allow for is none"


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
    return points.assign(**{name: getattr(judged, name) for name in names})


# Running sums


def test_running_sums_are_the_charts_own_one_up_and_one_down(charted, steady):
    points = charted({"values": steady(24), "baseline": 16}).points

    shown = streams.running_sums(points)

    expected = charts.cusum(points["z"], target=0.0, sigma=1.0)
    np.testing.assert_allclose(shown.above, expected.high)
    np.testing.assert_allclose(shown.below, -expected.low)
    assert shown.decision == expected.decision
    assert (shown.above >= 0.0).all()
    assert (shown.below <= 0.0).all()


def test_a_supplier_who_moved_up_signals_above_and_not_below(charted):
    points = charted({"values": [*[3.9e4, 4.1e4] * 8, *[4.3e4] * 8], "baseline": 16}).points

    shown = streams.running_sums(points)

    assert shown.signals[-1]
    assert shown.above[-1] > shown.decision > -shown.below[-1]


# Scores without a baseline


def test_scores_begin_with_the_third_lot_and_are_the_charts_own(charted, steady):
    points = charted({"values": steady(12)}).points

    score = streams.scores_without_baseline(points)

    np.testing.assert_allclose(score, charts.self_starting(np.log(points["value"])))
    assert np.isnan(score[:2]).all()
    assert np.isfinite(score[2:]).all()


def test_a_lot_known_as_a_bound_leaves_a_gap_in_the_scores(charted, steady):
    values = steady(12)
    whole = charted({"values": values[:6] + values[7:]}).points
    open_ended = charted({"values": values, "censored": [0] * 6 + [1] + [0] * 5}).points

    score = streams.scores_without_baseline(open_ended)

    assert np.isnan(score[6])
    np.testing.assert_allclose(np.delete(score, 6), streams.scores_without_baseline(whole))


def test_two_lots_have_no_score_yet(charted):
    assert np.isnan(streams.scores_without_baseline(charted({"values": [4e4, 4.1e4]}).points)).all()


def test_the_scale_decides_what_a_score_is_taken_of(charted, steady):
    values = steady(10, level=8.0)

    linear = streams.scores_without_baseline(charted({"values": values, "scale": "linear"}).points)
    log = streams.scores_without_baseline(charted({"values": values}).points)

    np.testing.assert_allclose(linear, charts.self_starting(np.array(values)))
    assert not np.allclose(linear[2:], log[2:])


# Spread within lots


def spread(demo_store, material, supplier):
    key = StreamKey(
        material=material, supplier=supplier, characteristic="heat", method="rapid sensor"
    )
    points = demo_store.sweep(material=material, supplier=supplier).of(key)
    return streams.spread_within(demo_store.stream(key)), points


def test_the_supplier_with_uneven_bags_is_seen_by_the_spread_within_his_lots(demo_store):
    """Dunmarsh's flakes differ by 18 % from bag to bag, others by 4 to 6 %."""
    uneven, _ = spread(demo_store, "chilli flakes", "Dunmarsh Ingredients")
    even, _ = spread(demo_store, "chilli flakes", "Eastlode Mills")

    assert uneven.components.within_sigma == pytest.approx(0.18, abs=0.03)
    assert even.components.within_sigma < 0.09


def test_the_spread_is_the_lot_s_own_and_open_lots_are_left_out(demo_store):
    found, points = spread(demo_store, "ground habanero", "Copperfen Peppers")

    assert (points["censored"] != 0).any()
    assert found.known.tolist() == (points["censored"] == 0).tolist()
    assert found.spread == pytest.approx(points.loc[found.known, "spread"].to_numpy())
    assert found.components.size == found.known.sum()


def test_average_and_sums_begin_anew_where_a_stage_does(charted, steady):
    """A new crop owes nothing to the one before: both are as if the stream began there."""
    points = charted({"values": [*steady(10), *steady(10, level=52_000.0, seed=6)]}).points
    begun = points.assign(restart=np.arange(20) == 10)

    average = streams.weighted_average(begun)
    sums = streams.running_sums(begun)

    alone = points.iloc[10:]
    assert average.value[10:] == pytest.approx(streams.weighted_average(alone).value)
    own = charts.cusum(alone["z"], target=0.0, sigma=1.0)
    assert sums.above[10:] == pytest.approx(own.high)
    assert sums.above[:10] == pytest.approx(
        charts.cusum(points["z"].iloc[:10], target=0.0, sigma=1.0).high
    )
