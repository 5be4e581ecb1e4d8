"""The picture of a stream says what the numbers say."""

import json
from typing import Any

import pytest
import vl_convert

from dashboard.frame.charts.lot_labels import lot_labels
from dashboard.frame.charts.spec import as_spec
from dashboard.frame.charts.stream_chart import PICK, stream_chart
from tests.dashboard.charts import fields, layers, lots

VARIANTS: list[dict[str, Any]] = [
    {"log": log, "limits": limits, "brackets": brackets}
    for log in (True, False)
    for limits in (True, False)
    for brackets in ((), ("upper",), ("lower", "upper"))
]


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


def test_a_lot_is_labelled_by_its_number_over_its_date():
    number, date = (layer.to_dict() for layer in lot_labels())

    assert number["encoding"]["text"]["field"] == "lot"
    assert number["encoding"]["href"]["field"] == "href"
    assert date["encoding"]["text"]["field"] == "at"
    assert number["transform"] == date["transform"]
