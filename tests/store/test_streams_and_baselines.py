import json
from functools import partial
from typing import Any

import numpy as np
import pandas as pd
import pytest

from spc import charts
from spc.charts.rules.rules import DEFAULT_RULES
from spc.errors import InvalidInput, MixedUnits, TooFewLots, UnknownName
from spc.store import Choice, StreamKey
from tests.staff import ME

CAYENNE = StreamKey(
    material="cayenne powder",
    supplier="North Fen Spices",
    characteristic="heat",
    method="rapid sensor",
)
SMALL = StreamKey(
    material="cayenne powder", supplier="North Mill", characteristic="heat", method="rapid sensor"
)


@pytest.fixture(scope="module")
def survey(demo_store):
    return demo_store.sweep()


def test_a_stream_s_arrays_belong_together(demo_store):
    for key in demo_store.stream_keys()[::5]:
        stream = demo_store.stream(key)

        readings, lots = stream.low.size, stream.lot.size
        assert stream.high.size == stream.sample.size == readings
        assert stream.received_at.size == stream.crop_year.size == stream.starts.size == lots
        assert stream.starts[0] == 0
        assert (np.diff(stream.starts) > 0).all()
        assert stream.starts[-1] < readings
        assert (np.diff(stream.received_at) >= np.timedelta64(0)).all()
        assert (stream.low <= stream.high).all()
        assert len(set(stream.lot)) == lots


def test_a_stream_holds_what_the_results_of_its_lots_say(demo_store):
    stream = demo_store.stream(CAYENNE)
    results = demo_store.results().query("characteristic == 'heat' and method == 'rapid sensor'")

    for lot, low in zip(stream.lot, np.split(stream.low, stream.starts[1:]), strict=True):
        assert sorted(low) == sorted(results.loc[results["lot"] == lot, "value_low"])
    assert (stream.unit, stream.scale) == ("SHU", "log")


def test_a_stream_in_two_units_is_refused_by_name(small_store, source_file):
    rows = ["L-1,1,1,2026-03-04 10:00:00,0.1,10,1,5,µmol/L"]
    rows += ["L-1,2,1,2026-03-04 10:00:00,0.1,10,1,5,µmol/L"]
    small_store.receive_bytes("sensor.csv", source_file("sensor", *rows), by=ME)
    with small_store._connection._database.cursor() as raw:
        raw.execute("update result set unit = 'mg/kg' where sample = '2'")

    with pytest.raises(MixedUnits, match="2 units: SHU, mg/kg") as caught:
        small_store.stream(SMALL)

    assert caught.value.where == "cayenne powder, North Mill, heat, rapid sensor, as-is"


def test_an_unknown_stream_is_answered_with_the_nearest(demo_store):
    misspelt = StreamKey(
        material="cayenne powder",
        supplier="North Fen Spice",
        characteristic="heat",
        method="rapid sensor",
    )

    with pytest.raises(UnknownName, match="Did you mean cayenne powder, North Fen Spices, heat"):
        demo_store.stream(misspelt)


def test_a_reading_that_bounds_nothing_is_in_no_stream(small_store, source_file):
    row = "L-3,cayenne powder,North Mill,2026-03-05,2025,40,25,>0,2026-02-20"
    small_store.receive_bytes("register.csv", source_file("register", row), by=ME)

    lots = small_store.sweep().points["lot"]

    assert "L-3" not in set(lots)


def test_the_survey_is_each_stream_charted_by_hand(demo_store, survey):
    number = 0
    for key in demo_store.stream_keys():
        stream, points = demo_store.stream(key), survey.of(key)
        values = charts.lot_values(
            stream.low, stream.high, stream.sample, stream.starts, scale=stream.scale
        )
        worked = np.log(values.value) if stream.scale == "log" else values.value
        assert points["lot"].tolist() == stream.lot.tolist()
        assert points["value"].to_numpy() == pytest.approx(values.value)
        exact = values.censored == 0
        chosen = exact & points["baseline"].to_numpy()
        if not exact.all() or chosen.sum() < 3:
            continue
        number += 1
        limits = charts.individuals(worked[chosen])
        z = limits.scores(worked)
        assert points["z"].to_numpy() == pytest.approx(z)
        assert points["size"].unique().tolist() == [chosen.sum()]
        expected = charts.run_rules(z, rules=DEFAULT_RULES)
        shown = [tuple(charts.RULES).index(rule) for rule in DEFAULT_RULES]
        assert (survey.marks[points.index][:, shown] == expected).all()

    # Most of the demo's streams are without censored lots.
    assert number > 50


def test_a_survey_of_a_supplier_is_that_part_of_the_whole(demo_store, survey):
    part = demo_store.sweep(material="cayenne powder", supplier="North Fen Spices").points

    whole = survey.points
    mine = whole.query("material == 'cayenne powder' and supplier == 'North Fen Spices'")
    columns = ["lot", "value", "z", "lower", "upper", "within", "degrees"]
    pd.testing.assert_frame_equal(
        part[columns].reset_index(drop=True), mine[columns].reset_index(drop=True)
    )


def test_the_spread_within_a_lot_is_judged_by_the_other_lots(survey):
    points = survey.of(CAYENNE)
    lot = points.iloc[3]
    others = points.drop(index=lot.name)
    usable = others[others["spread"].notna()]
    degrees = usable["samples"] - 1

    pooled = np.sqrt((usable["spread"] ** 2 * degrees).sum() / degrees.sum())

    assert lot["within"] == pytest.approx(pooled)
    assert lot["degrees"] == degrees.sum()


def test_limits_rest_on_earlier_crops_while_nobody_chose(survey):
    points = survey.of(CAYENNE)

    newest = points["crop_year"].max()
    assert (points["baseline"] == (points["crop_year"] < newest)).all()
    assert (~points["baseline"]).sum() == 9


def test_a_stream_with_few_earlier_lots_rests_on_all_of_them(survey):
    for _, points in survey.points.groupby("stream"):
        earlier = points["crop_year"] < points["crop_year"].max()
        expected = earlier if earlier.sum() >= 8 else pd.Series(data=True, index=points.index)
        assert (points["baseline"] == expected).all()


def test_a_frozen_baseline_replaces_the_provisional_one(writable_demo):
    before = writable_demo.sweep().of(CAYENNE)
    chosen = before["lot"].iloc[:12].tolist()
    left_out = {before["lot"].iloc[12]: "low strip batch"}

    first = writable_demo.freeze_baseline(
        CAYENNE,
        Choice(lots=tuple(chosen), left_out=left_out),
        by=ME,
        reason="first year",
    )
    second = writable_demo.freeze_baseline(
        CAYENNE, Choice(lots=tuple(chosen[:10])), by=ME, reason="without the last two"
    )

    survey = writable_demo.sweep()
    after = survey.of(CAYENNE)
    assert (first, second) == (1, 2)
    assert after.loc[after["baseline"], "lot"].tolist() == chosen[:10]
    assert after["size"].unique().tolist() == [10]
    assert list(survey.frozen) == [CAYENNE]
    limits = charts.individuals(np.log(after["value"].to_numpy()[:10]))
    assert after["upper"].iloc[0] == pytest.approx(np.exp(limits.upper))
    history = writable_demo.baselines(CAYENNE)
    assert history["version"].tolist() == [2, 1]
    assert json.loads(history["left_out"].iloc[1]) == left_out
    assert writable_demo.verify().ok


@pytest.mark.parametrize(
    ("fault", "error", "what"),
    [
        ({"reason": ""}, InvalidInput, "a reason, and a reason"),
        ({"left_out": {"L-2": " "}}, InvalidInput, "each lot left out"),
        ({"lots": ("L-1",)}, TooFewLots, "needs at least 2 lots, but 1 was given"),
        ({"kind": "by eye"}, InvalidInput, "'by eye' is no kind of limits"),
        ({"rules": ("nine in a row",)}, InvalidInput, "'nine in a row' is no kind"),
    ],
)
def test_a_baseline_needs_lots_and_reasons(small_store, fault, error, what):
    stated: dict[str, Any] = {"lots": ("L-1", "L-2"), "reason": "first"}
    stated |= fault
    reason = stated.pop("reason")

    with pytest.raises(error, match=what):
        small_store.freeze_baseline(SMALL, Choice(**stated), by=ME, reason=reason)

    assert small_store.baselines(SMALL).empty


def test_a_lot_keeps_the_limits_that_stood_when_it_came_in(writable_demo):
    lots = writable_demo.sweep().of(CAYENNE)["lot"].tolist()
    crop = lots[24:]
    freeze = partial(writable_demo.freeze_baseline, CAYENNE, by=ME)

    freeze(Choice(lots=tuple(lots[:12])), reason="first crop")
    freeze(Choice(lots=tuple(lots[:24]), applies_from=lots[18]), reason="two crops")
    freeze(
        Choice(
            lots=tuple(crop),
            applies_from=crop[0],
            restarts=True,
            kind="prediction",
            rules=("beyond limits",),
        ),
        reason="new crop",
    )

    survey = writable_demo.sweep()
    points = survey.of(CAYENNE)
    assert points["size"].tolist() == [12] * 18 + [24] * 6 + [9] * 9
    early = charts.individuals(np.log(points["value"].to_numpy()[:12]))
    late = charts.prediction(np.log(points["value"].to_numpy()[24:]))
    assert points["upper"].iloc[17] == pytest.approx(np.exp(early.upper))
    assert points["lower"].iloc[24] == pytest.approx(np.exp(late.lower))
    assert survey.rules(CAYENNE) == ("beyond limits",)
    assert points["restart"].to_numpy().nonzero()[0].tolist() == [24]
    # Nine rising lots judged by themselves are what is usual for this crop.
    assert not survey.marks[points.index[24:]].any()
    assert writable_demo.verify().ok


def test_a_later_version_wins_from_its_first_lot_on(writable_demo):
    lots = writable_demo.sweep().of(CAYENNE)["lot"].tolist()
    freeze = partial(writable_demo.freeze_baseline, CAYENNE, by=ME)
    freeze(Choice(lots=tuple(lots[:12])), reason="first crop")
    freeze(Choice(lots=tuple(lots[:20]), applies_from=lots[20]), reason="more lots")

    freeze(Choice(lots=tuple(lots[:24]), applies_from=lots[15]), reason="still more")

    assert writable_demo.sweep().of(CAYENNE)["size"].tolist() == [12] * 15 + [24] * 18


def test_censored_lots_count_in_a_baseline_as_bounds(survey, demo_store):
    """Copperfen's habanero often lies above the sensor's range; leaving those lots out would
    make what is usual too mild."""
    habanero = next(
        key
        for key in demo_store.stream_keys()
        if (key.supplier, key.characteristic, key.method)
        == ("Copperfen Peppers", "heat", "rapid sensor")
        and key.material == "ground habanero"
    )
    points = survey.of(habanero)
    base = points[points["baseline"]]

    by_bounds = charts.censored_baseline(base["value"], base["censored"], scale="log")

    assert (base["censored"] == 1).sum() >= 3
    assert points["center"].iloc[0] == pytest.approx(by_bounds.center)
    assert points["size"].iloc[0] == len(base)
    assert by_bounds.center > np.log(base.loc[base["censored"] == 0, "value"]).mean()


def test_an_investigation_is_told_once_and_closed_once(writable_demo):
    name = writable_demo.investigate(
        CAYENNE,
        "R26-0146",
        signals=["beyond limits"],
        cause="hotter cultivar since the new crop",
        action="supplier asked for the cultivar",
        by=ME,
    )
    open_before = writable_demo.investigations(CAYENNE)["closed_by"].tolist()

    writable_demo.close_investigation(name, conclusion="cultivar confirmed", by=ME)

    after = writable_demo.investigations(CAYENNE)
    assert open_before == [""]
    assert after["conclusion"].tolist() == ["cultivar confirmed"]
    with pytest.raises(InvalidInput, match="closed already"):
        writable_demo.close_investigation(name, conclusion="again", by=ME)
    with pytest.raises(UnknownName, match="no investigation"):
        writable_demo.close_investigation("x", conclusion="again", by=ME)
    with pytest.raises(InvalidInput, match="what was found and done"):
        writable_demo.investigate(CAYENNE, "R26-0146", signals=[], cause=" ", action="a", by=ME)
    assert writable_demo.verify().ok
