"""A stream is charted with what is unusual in it and with the limits it is held to."""

import pandas as pd
import pytest

from spc.answers.charted_streams import (
    charted_stream,
    lots_per_month,
    recent_signals,
    streams_of_lot,
)
from spc.answers.methods import declared_methods
from spc.store import StreamKey

DRIFTING = StreamKey(
    material="cayenne powder",
    supplier="North Fen Spices",
    characteristic="heat",
    method="rapid sensor",
    basis="as-is",
)


def test_a_stream_comes_with_its_own_signals_and_its_line(demo_store, demo_survey):
    found = charted_stream(demo_store, demo_survey, DRIFTING)

    assert set(found.signals["lot"]) <= set(found.points["lot"])
    assert not found.signals.empty
    assert set(found.points["supplier"]) == {"North Fen Spices"}
    assert found.line is not None
    assert found.line.lower == 30_000.0


def test_the_streams_of_a_lot_begin_with_heat_by_a_method_of_our_own(demo_store, demo_survey):
    keys = streams_of_lot(demo_store, demo_survey, "R26-0140")

    declared = declared_methods(demo_store)
    heat = [key.characteristic == "heat" for key in keys]
    assert heat == sorted(heat, reverse=True)
    assert keys[0].method not in declared
    assert len(keys) > 1


def test_recent_signals_are_of_lots_received_lately_by_own_methods(demo_store, demo_survey):
    recent = recent_signals(demo_store, demo_survey, days=30)
    every = recent_signals(demo_store, demo_survey, days=3_650)

    since = pd.Timestamp(demo_store.today()) - pd.Timedelta(days=30)
    assert 0 < len(recent) < len(every) <= len(demo_survey.signals())
    assert (recent["received_at"] >= since).all()
    assert not set(every["method"]) & declared_methods(demo_store)


@pytest.mark.parametrize(
    ("count", "days", "rate"),
    [(60, 15, 25 / 12), (1, 1, 1.0), (4, 10, 4.0), (3, 400, 1 / 12)],
    ids=["two a month for years", "the first lot", "a new supplier", "one a year"],
)
def test_lots_a_month_are_those_of_the_last_year(charted, count, days, rate):
    points = charted({"values": [4e4] * count, "days": days}).points

    assert lots_per_month(points) == pytest.approx(max(rate, 0.1), rel=0.03)
