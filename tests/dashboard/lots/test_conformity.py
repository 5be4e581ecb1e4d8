"""A lot's mean against its limits: the filled share is the chance of conforming."""

import json
import math

import numpy as np
import pandas as pd
import pytest
import vl_convert

from dashboard.frame.charts.spec import as_spec
from dashboard.lots.charts.conformity import conformity_chart
from dashboard.lots.charts.plausible_values import conformity_frame
from spc.acceptance import conformity


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
