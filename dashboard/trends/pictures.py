"""A stream seen otherwise, drawn."""

from collections.abc import Sequence
from typing import Any

import pandas as pd
import streamlit as st

from dashboard.frame import stream_tables, stream_words
from dashboard.frame import words as plain
from dashboard.frame.charts.spec import as_spec
from dashboard.frame.drawing import is_log, stream_spec
from dashboard.trends import tables, words
from dashboard.trends.charts.running_sums import running_sums_chart
from dashboard.trends.charts.timeline import timeline_chart
from spc.answers import streams
from spc.store import Stream, StreamKey, Survey


@st.cache_resource
def _running_sums_spec() -> dict[str, Any]:
    return as_spec(running_sums_chart())


@st.cache_resource
def _timeline_spec(*, log: bool) -> dict[str, Any]:
    return as_spec(timeline_chart(log=log))


def weighted_average(survey: Survey, stream_key: StreamKey) -> None:
    """The average that remembers, on the stream's own figure."""
    frame, points = _frame(survey, stream_key)
    if not points["sigma"].notna().any():
        st.info(stream_words.NO_LIMITS)
        return
    spec = stream_spec(log=is_log(points), limits=True, brackets=())
    st.vega_lite_chart(streams.weighted_average(frame, points), spec, key="weighted")


def running_sums(survey: Survey, stream_key: StreamKey) -> None:
    """The two running sums against their decision."""
    frame, points = _frame(survey, stream_key)
    if not points["sigma"].notna().any():
        st.info(stream_words.NO_LIMITS)
        return
    st.vega_lite_chart(streams.running_sums(frame, points), _running_sums_spec(), key="sums")


def spread_within(survey: Survey, stream_key: StreamKey, readings: Stream) -> None:
    """The spread between the samples of each lot, and where the variation sits."""
    frame, points = _frame(survey, stream_key)
    shown, found = streams.spread_within(frame, readings)
    st.markdown(words.components(found, log=is_log(points), unit=str(points["unit"].iloc[0])))
    spec = stream_spec(log=False, limits=True, brackets=())
    st.vega_lite_chart(shown, spec, key="spread")


def scores(survey: Survey, stream_key: StreamKey) -> None:
    """Each lot against those before it."""
    frame, points = _frame(survey, stream_key)
    shown = streams.scores(frame, points)
    if shown.empty:
        st.info("A score needs two lots before it; wait for the third.")
        return
    spec = stream_spec(log=False, limits=True, brackets=())
    st.vega_lite_chart(shown, spec, key="scores")


def together(frame: pd.DataFrame) -> None:
    """All characteristics in one distance."""
    spec = stream_spec(log=False, limits=True, brackets=())
    st.vega_lite_chart(frame, spec, key="together")


def timeline(survey: Survey, keys: Sequence[StreamKey]) -> None:
    """Several streams under each other over the same time."""
    for number, (key, frame) in enumerate(tables.timeline_frames(survey, keys).items()):
        st.markdown(plain.stream_name(key))
        spec = _timeline_spec(log=is_log(survey.of(key)))
        st.vega_lite_chart(frame, spec, key=f"timeline-{number}")


def _frame(survey: Survey, stream_key: StreamKey) -> tuple[pd.DataFrame, pd.DataFrame]:
    points = survey.of(stream_key)
    signals = survey.signals()
    mine = signals[signals["stream"] == points["stream"].iloc[0]]
    return stream_tables.stream_frame(points, mine, line=None), points
