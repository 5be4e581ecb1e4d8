"""A stream as its chart reads it."""

import numpy as np

from dashboard.frame import stream_tables
from tests.dashboard.streams import DRIFTING


def test_a_stream_is_drawn_on_the_scale_it_is_judged_on(drifting):
    points, signals = drifting

    frame = stream_tables.stream_frame(points, signals, line=None, chosen="R26-0146")

    assert frame["order"].tolist() == list(range(1, len(points) + 1))
    assert (frame["lower"] < frame["center"]).all()
    assert (frame["center"] < frame["upper"]).all()
    np.testing.assert_allclose(frame["lower"] * frame["upper"], frame["center"] ** 2)
    np.testing.assert_allclose(frame["whisker_low"] * frame["whisker_high"], frame["value"] ** 2)
    assert frame.loc[frame["chosen"], "lot"].tolist() == ["R26-0146"]
    assert frame[["spec_lower", "spec_upper"]].isna().all(axis=None)


def test_the_brackets_are_those_of_the_specification(drifting, demo_store):
    points, signals = drifting
    versions = [
        one for one in demo_store.catalogue().specifications if one.material == DRIFTING.material
    ]
    line = next(one for one in versions[-1].lines if one.characteristic == "heat")

    frame = stream_tables.stream_frame(points, signals, line=line)

    assert set(frame["spec_lower"]) == {line.lower}
    assert set(frame["spec_upper"]) == {line.upper}


def test_a_signal_that_lasts_is_written_once_where_it_begins(charted):
    survey = charted({"values": [3.9e4, 4.1e4] * 6 + [6e4] * 3, "baseline": 12})

    frame = stream_tables.stream_frame(survey.points, survey.signals(), line=None)

    assert frame["signal"].tolist()[12] == "beyond limits"
    assert "beyond limits" not in frame["signal"].tolist()[13]


def test_an_odd_lot_number_leads_to_its_lot_and_nowhere_else(charted):
    survey = charted({"values": [4e4], "lot": "A&B 1/2?<i>"})

    (address,) = stream_tables.stream_frame(survey.points, survey.signals(), line=None)["href"]

    assert address == "/lot?lot=A%26B%201/2%3F%3Ci%3E"
