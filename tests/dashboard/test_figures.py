"""Pictures say what the numbers say, in one visual language."""

import json
import math
import re
from typing import Any, get_args

import numpy as np
import pandas as pd
import pytest
import vl_convert

from dashboard.frame.charts.lot_labels import lot_labels
from dashboard.frame.charts.spec import as_spec
from dashboard.frame.charts.stream_chart import COLUMNS, PICK, stream_chart
from dashboard.frame.charts.verdict_mark import Decision, disposition_mark, verdict_mark
from dashboard.lots.charts.conformity import conformity_chart
from dashboard.lots.charts.plausible_values import conformity_frame
from dashboard.trends.charts.running_sums import COLUMNS as SUMS
from dashboard.trends.charts.running_sums import running_sums_chart
from dashboard.trends.charts.timeline import COLUMNS as TIMES
from dashboard.trends.charts.timeline import timeline_chart
from spc.acceptance import conformity
from spc.acceptance.evidence.lines import Outcome
from spc.intake.decisions import DECISIONS

OUTCOMES = get_args(Outcome)
VARIANTS: list[dict[str, Any]] = [
    {"log": log, "limits": limits, "brackets": brackets}
    for log in (True, False)
    for limits in (True, False)
    for brackets in ((), ("upper",), ("lower", "upper"))
]


def layers(spec):
    for layer in spec["layer"]:
        yield layer
        if "layer" in layer:
            yield from layers(layer)


def fields(spec):
    return set(re.findall(r'"field": "(\w+)"', json.dumps(spec)))


def area(x, y):
    return float(np.sum(np.diff(x) * (y[1:] + y[:-1]) / 2.0))


def share_inside(frame, *, log):
    x = np.log(frame["x"]) if log else frame["x"]
    scaled = frame.assign(x=x)
    runs = (scaled["part"] != scaled["part"].shift()).cumsum()
    areas = scaled.groupby(runs).apply(
        lambda run: pd.Series(
            {
                "part": run["part"].iloc[0],
                "area": area(run["x"].to_numpy(), run["density"].to_numpy()),
            }
        )
    )
    inside = areas.loc[areas["part"] == "inside", "area"].sum()
    return inside / areas["area"].sum()


def lots(count):
    value = np.full(count, 41_800.0)
    return pd.DataFrame(
        {
            "lot": [f"R26-{i:04d}" for i in range(count)],
            "at": pd.date_range("2026-03-12", periods=count, freq="9D"),
            "order": np.arange(1, count + 1),
            "value": value,
            **dict.fromkeys(("whisker_low", "whisker_high", "center", "lower", "upper"), math.nan),
            "spec_lower": math.nan,
            "spec_upper": 45_000.0,
            "censored": "",
            "in_baseline": True,
            "signal": "",
            "chosen": False,
            "crop": "crop 2026",
            "href": "/lots?lot=R26-0000",
            "label": "41 800 SHU",
            "unit": "SHU",
        },
        columns=list(COLUMNS),
    )


@pytest.mark.parametrize("variant", VARIANTS)
def test_a_stream_chart_reads_the_one_frame_and_nothing_else(variant):
    spec = as_spec(stream_chart(**variant))

    assert {"data", "datasets", "$schema"}.isdisjoint(spec)
    assert all("data" not in layer for layer in layers(spec))
    assert spec["usermeta"]["embedOptions"]["renderer"] == "svg"


def test_the_same_chart_is_built_twice():
    variant = VARIANTS[0]

    assert as_spec(stream_chart(**variant)) == as_spec(stream_chart(**variant))


def test_a_lot_is_picked_by_its_number():
    spec = as_spec(stream_chart(**VARIANTS[0]))

    (pick,) = spec["params"]

    assert pick["name"] == PICK
    assert pick["select"] == {"type": "point", "fields": ["lot"]}
    assert pick["views"] == ["lots"]


def test_a_lot_number_leads_to_its_lot():
    spec = as_spec(stream_chart(**VARIANTS[0]))

    (number,) = [layer for layer in layers(spec) if "href" in layer.get("encoding", {})]

    assert number["encoding"]["href"]["field"] == "href"
    assert "tooltip" in number["encoding"], "beside a selection it would not take clicks"


def test_what_is_usual_is_a_soft_area_and_what_is_allowed_never_is():
    spec = as_spec(stream_chart(log=True, limits=True, brackets=("lower", "upper")))

    areas = [layer for layer in layers(spec) if layer["mark"]["type"] == "area"]

    assert [fields(layer) >= {"lower", "upper"} for layer in areas] == [True]
    assert not any("stroke" in layer["mark"] or "line" in layer["mark"] for layer in areas)
    assert "spec_upper" not in {
        layer["encoding"][channel].get("field")
        for layer in layers(spec)
        for channel in ("y", "y2")
        if channel in layer.get("encoding", {})
    }


def test_without_limits_no_band_is_drawn():
    spec = as_spec(stream_chart(log=True, limits=False, brackets=()))

    assert all(layer["mark"]["type"] != "area" for layer in layers(spec))
    assert not {"center", "lower", "upper"} & fields(spec)


def test_a_limit_that_is_not_set_has_no_bracket():
    spec = as_spec(stream_chart(log=True, limits=True, brackets=("upper",)))

    assert "spec max" in json.dumps(spec)
    assert "spec min" not in json.dumps(spec)


def test_heat_stands_on_a_log_axis_with_steps_of_one_two_five():
    spec = as_spec(stream_chart(log=True, limits=False, brackets=()))

    (y,) = [
        layer["encoding"]["y"]
        for layer in layers(spec)
        if layer.get("encoding", {}).get("y", {}).get("axis")
        if layer["mark"]["type"] == "line"
    ]

    assert y["scale"]["type"] == "log"
    assert "1e4, 2e4, 5e4" in y["axis"]["values"]["expr"]


def test_a_signal_is_words_with_a_leader_and_no_other_shape_of_point():
    spec = as_spec(stream_chart(log=True, limits=True, brackets=()))

    words = [
        layer
        for layer in layers(spec)
        if layer.get("encoding", {}).get("text", {}).get("field") == "signal"
    ]

    assert words
    assert all(layer["mark"]["type"] == "text" for layer in words)
    assert "square" not in json.dumps(spec)


@pytest.mark.parametrize("count", [1, 3, 30])
@pytest.mark.parametrize("log", [True, False])
def test_few_lots_without_limits_make_a_picture(count, log):
    spec = as_spec(stream_chart(log=log, limits=True, brackets=("upper",)))
    rows = json.loads(lots(count).to_json(orient="records", date_format="iso"))

    picture = vl_convert.vegalite_to_svg({**spec, "data": {"values": rows}, "width": 350})

    assert "NaN" not in picture
    assert picture.count('aria-label="41 800 SHU"') == count
    assert "spec max" in picture
    assert "45\N{NARROW NO-BREAK SPACE}000" in picture


def test_one_picture_serves_both_papers():
    spec = as_spec(stream_chart(log=True, limits=False, brackets=()))
    rows = json.loads(lots(3).to_json(orient="records", date_format="iso"))
    drawn = {**spec, "data": {"values": rows}, "width": 350}

    light = vl_convert.vegalite_to_svg(drawn, config={"background": "#FBF6EC"})
    dark = vl_convert.vegalite_to_svg(drawn, config={"background": "#1C1815"})

    assert "#0072B2" in light
    assert "#0072B2" not in dark
    assert "#56B4E9" in dark


@pytest.mark.parametrize(
    ("value", "uncertainty", "lower", "upper"),
    [
        (10.8, 0.15, None, 11.0),
        (10.8, 0.15, 10.5, 11.0),
        (10.0, 0.60, 9.5, None),
        (10.0, 0.05, 2.0, 30.0),
        (12.0, 0.20, None, 11.0),
        (11.0, 0.20, None, 11.0),
    ],
)
@pytest.mark.parametrize("log", [False, True])
def test_the_filled_share_of_the_hill_is_the_chance_of_conforming(
    value, uncertainty, lower, upper, log
):
    frame = conformity_frame(
        math.exp(value) if log else value,
        uncertainty,
        log=log,
        lower=math.exp(lower) if log and lower else lower,
        upper=math.exp(upper) if log and upper else upper,
        unit="SHU",
        text="",
    )

    expected = conformity(value, uncertainty, lower=lower, upper=upper)

    assert share_inside(frame, log=log) == pytest.approx(float(expected), abs=1e-3)
    assert frame["x"].is_monotonic_increasing
    assert frame["density"].max() == pytest.approx(1.0, abs=2e-3)
    assert frame["density"].max() <= 1.0


def test_a_limit_far_away_does_not_squash_the_hill():
    frame = conformity_frame(
        41_800.0, 0.03, log=True, lower=None, upper=1e6, unit="SHU", text="100 % within"
    )

    assert frame["x"].max() < 55_000.0
    assert set(frame["part"]) == {"inside"}
    assert set(frame["upper_text"]) == {
        "max 1 000 000 SHU".replace(" 0", "\N{NARROW NO-BREAK SPACE}0")
    }


def test_a_limit_is_written_as_it_was_set_however_uncertain_the_value():
    frame = conformity_frame(
        41_812.0, 0.03, log=True, lower=None, upper=45_250.0, unit="SHU", text=""
    )

    assert set(frame["upper_text"]) == {"max 45\N{NARROW NO-BREAK SPACE}250 SHU"}
    assert set(frame["value_text"]) == {"41\N{NARROW NO-BREAK SPACE}800 SHU"}


def test_an_exactly_known_value_has_a_hill_too():
    frame = conformity_frame(10.0, 0.0, log=False, lower=9.0, upper=11.0, unit="%", text="")

    assert np.isfinite(frame[["x", "density"]]).all(axis=None)
    assert set(frame["part"]) == {"inside"}


@pytest.mark.parametrize("sides", [(True, False), (False, True), (True, True)])
@pytest.mark.parametrize("log", [True, False])
def test_a_lot_against_its_limits_makes_a_picture(sides, log):
    lower, upper = sides
    spec = as_spec(conformity_chart(log=log, lower=lower, upper=upper))
    frame = conformity_frame(
        10.0,
        0.05 if log else 0.5,
        log=log,
        lower=9.6 if lower else None,
        upper=10.4 if upper else None,
        unit="g/100 g",
        text="58 % within the limits",
    )
    rows = json.loads(frame.to_json(orient="records"))

    picture = vl_convert.vegalite_to_svg({**spec, "data": {"values": rows}, "width": 350})

    assert "NaN" not in picture
    assert ("min 9.6 g/100 g" in picture, "max 10.4 g/100 g" in picture) == sides
    assert "58 % within the limits" in picture


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_a_verdict_is_named_and_takes_the_colour_of_its_words(outcome):
    mark = verdict_mark(outcome)

    assert f"<title>{outcome}</title>" in mark
    assert "#" not in mark


def test_verdicts_differ_by_fill_alone():
    drawings = {re.sub("<title>.*</title>", "", verdict_mark(outcome)) for outcome in OUTCOMES}

    assert len(drawings) == len(OUTCOMES)
    assert all('<circle r="5"' in drawing for drawing in drawings)


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_a_decision_is_stamped_around_what_the_evidence_said(outcome):
    marks = [disposition_mark(decision, outcome=outcome) for decision in get_args(Decision)]

    drawings = {re.sub("<title>.*</title>", "", mark) for mark in marks}

    assert len(drawings) == len(DECISIONS)
    assert all(outcome in mark for mark in marks)


def test_every_decision_that_can_be_taken_has_a_stamp():
    assert set(get_args(Decision)) == set(DECISIONS)


ALONE = [
    pytest.param(running_sums_chart, SUMS, id="running sums"),
    pytest.param(lambda: timeline_chart(log=True), TIMES, id="timeline, log"),
    pytest.param(lambda: timeline_chart(log=False), TIMES, id="timeline, linear"),
]


def sums(count):
    up = np.minimum(np.arange(count) * 1.5, 9.0)
    return lots(count)[["lot", "at", "order", "href"]].assign(
        above=up, below=-0.4, decision=5.0, signal=np.where(up > 5.0, "outside", "")
    )


def timed(count):
    frame = lots(count)
    return frame.assign(
        since=pd.Timestamp("2025-01-01"),
        until=pd.Timestamp("2026-12-31"),
        center=41_000.0,
        lower=37_000.0,
        upper=45_000.0,
        signal=["nine on one side", *[""] * (count - 1)],
    )[list(TIMES)]


def picture_of(chart, frame):
    rows = json.loads(frame.to_json(orient="records", date_format="iso"))
    return vl_convert.vegalite_to_svg({**as_spec(chart), "data": {"values": rows}, "width": 350})


@pytest.mark.parametrize(("chart", "columns"), ALONE)
def test_a_figure_reads_the_one_frame_and_only_columns_that_it_has(chart, columns):
    spec = as_spec(chart())
    made = set(re.findall(r'"as": "(\w+)"', json.dumps(spec)))

    assert {"data", "datasets", "$schema"}.isdisjoint(spec)
    assert all("data" not in layer for layer in layers(spec))
    assert fields(spec) <= {*columns, *made}
    assert spec["usermeta"]["embedOptions"]["renderer"] == "svg"


@pytest.mark.parametrize("count", [1, 2, 30])
def test_running_sums_of_few_lots_make_a_picture(count):
    picture = picture_of(running_sums_chart(), sums(count))

    assert "NaN" not in picture
    assert "running sum, in sigmas" in picture
    assert f"R26-{count - 1:04d}" in picture


def test_the_decision_is_drawn_both_ways_and_the_sums_that_pass_it_are_ringed():
    few, many = picture_of(running_sums_chart(), sums(2)), picture_of(running_sums_chart(), sums(9))

    assert few.count("stroke-dasharray") == many.count("stroke-dasharray") == 2
    rings = [picture.count('stroke-width="1.9"') for picture in (few, many)]
    assert rings == [0, int((sums(9)["above"] > 5.0).sum())]


@pytest.mark.parametrize("count", [1, 2, 30])
@pytest.mark.parametrize("log", [True, False])
def test_a_timeline_of_few_lots_makes_a_picture(count, log):
    picture = picture_of(timeline_chart(log=log), timed(count))

    assert "NaN" not in picture
    assert "Jan 2025" in picture, "the axis spans the time of all streams, not of this one's lots"
    assert picture.count("signal: nine on one side") >= 1


@pytest.mark.parametrize("log", [True, False])
def test_a_timeline_of_a_stream_without_limits_makes_a_picture(log):
    frame = timed(3).assign(center=math.nan, lower=math.nan, upper=math.nan)

    assert "NaN" not in picture_of(timeline_chart(log=log), frame)


@pytest.mark.parametrize("count", [1, 2, 3, 60])
def test_the_newest_lot_is_always_named_and_leads_to_itself(count):
    frame = sums(count)

    picture = picture_of(running_sums_chart(), frame)

    assert f"R26-{count - 1:04d}<" in picture
    shown = re.findall(r">(R26-\d{4})<", picture)
    assert len(shown) <= 5, "on a telephone the numbers would lie on each other"


def test_a_lot_is_labelled_by_its_number_over_its_date():
    number, date = (layer.to_dict() for layer in lot_labels())

    assert number["encoding"]["text"]["field"] == "lot"
    assert number["encoding"]["href"]["field"] == "href"
    assert date["encoding"]["text"]["field"] == "at"
    assert number["transform"] == date["transform"]
