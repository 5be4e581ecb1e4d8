"""A stream seen otherwise, drawn."""

from collections.abc import Sequence
from typing import Any

import pandas as pd
import streamlit as st

from dashboard.frame import stream_tables
from dashboard.frame.charts.spec import as_spec
from dashboard.frame.drawing import is_log, stream_spec
from dashboard.frame.escaping import marked
from dashboard.trends import words
from dashboard.trends.charts.running_sums import running_sums_chart
from dashboard.trends.charts.timeline import timeline_chart
from dashboard.trends.tables import (
    average_frame,
    scores_frame,
    spread_frame,
    sums_frame,
    timeline_frames,
    together_frame,
)
from spc.answers import streams
from spc.answers.charted_streams import ChartedStream
from spc.answers.streams import SpreadWithin
from spc.answers.together import AllTogether
from spc.store import StreamKey, Survey


@st.cache_resource
def _running_sums_spec() -> dict[str, Any]:
    return as_spec(running_sums_chart())


@st.cache_resource
def _timeline_spec(*, log: bool) -> dict[str, Any]:
    return as_spec(timeline_chart(log=log))


def weighted_average(charted: ChartedStream) -> None:
    """The average that remembers, on the stream's own figure."""
    if not charted.points["sigma"].notna().any():
        st.info(words.NO_LIMITS)
        return
    frame = average_frame(_frame(charted), streams.weighted_average(charted.points))
    spec = stream_spec(log=is_log(charted.points), limits=True, brackets=())
    st.vega_lite_chart(frame, spec, key="weighted")


def running_sums(charted: ChartedStream) -> None:
    """The two running sums against their decision."""
    if not charted.points["sigma"].notna().any():
        st.info(words.NO_LIMITS)
        return
    frame = sums_frame(_frame(charted), streams.running_sums(charted.points))
    st.vega_lite_chart(frame, _running_sums_spec(), key="sums")


def spread_within(charted: ChartedStream, found: SpreadWithin) -> None:
    """The spread between the samples of each lot, and where the variation sits."""
    log, unit = is_log(charted.points), str(charted.points["unit"].iloc[0])
    st.markdown(marked(words.components(found.components, log=log, unit=unit)))
    spec = stream_spec(log=False, limits=True, brackets=())
    st.vega_lite_chart(spread_frame(_frame(charted), found, log=log), spec, key="spread")


def scores(charted: ChartedStream) -> None:
    """Each lot against those before it."""
    shown = scores_frame(_frame(charted), streams.scores_without_baseline(charted.points))
    if shown.empty:
        st.info("A score needs two lots before it; wait for the third.")
        return
    spec = stream_spec(log=False, limits=True, brackets=())
    st.vega_lite_chart(shown, spec, key="scores")


def together(found: AllTogether) -> None:
    """All characteristics in one distance."""
    spec = stream_spec(log=False, limits=True, brackets=())
    st.vega_lite_chart(together_frame(found), spec, key="together")


def timeline(survey: Survey, keys: Sequence[StreamKey]) -> None:
    """Several streams under each other over the same time."""
    for number, (key, frame) in enumerate(timeline_frames(survey, keys).items()):
        st.markdown(marked(words.stream_name(key)))
        spec = _timeline_spec(log=is_log(survey.of(key)))
        st.vega_lite_chart(frame, spec, key=f"timeline-{number}")


def _frame(charted: ChartedStream) -> pd.DataFrame:
    return stream_tables.stream_frame(charted.points, charted.signals, line=None)
