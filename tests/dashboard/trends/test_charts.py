"""Pictures of Trends say what the numbers say."""

import json
import math
import re

import numpy as np
import pandas as pd
import pytest
import vl_convert

from dashboard.frame.charts.spec import as_spec
from dashboard.trends.charts.running_sums import COLUMNS as SUMS
from dashboard.trends.charts.running_sums import running_sums_chart
from dashboard.trends.charts.timeline import COLUMNS as TIMES
from dashboard.trends.charts.timeline import timeline_chart
from tests.dashboard.charts import fields, layers, lots

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
