"""Figures on the screen: built once for each variant, then fed with data by name."""

from collections.abc import Sequence
from typing import Any

import pandas as pd
import streamlit as st

from dashboard import session, tables, views, wording
from dashboard.figures.acceptance_curve import acceptance_curve_chart
from dashboard.figures.conformity_chart import conformity_chart
from dashboard.figures.running_sums import running_sums_chart
from dashboard.figures.spec import as_spec
from dashboard.figures.stream_chart import PICK, stream_chart
from dashboard.figures.timeline import timeline_chart
from spc.acceptance import Line
from spc.store import Stream, StreamKey, Survey


@st.cache_resource
def _stream_spec(*, log: bool, limits: bool, brackets: tuple[str, ...]) -> dict[str, Any]:
    return as_spec(stream_chart(log=log, limits=limits, brackets=brackets))


@st.cache_resource
def _conformity_spec(*, log: bool, lower: bool, upper: bool) -> dict[str, Any]:
    return as_spec(conformity_chart(log=log, lower=lower, upper=upper))


@st.cache_resource
def _running_sums_spec() -> dict[str, Any]:
    return as_spec(running_sums_chart())


@st.cache_resource
def _timeline_spec(*, log: bool) -> dict[str, Any]:
    return as_spec(timeline_chart(log=log))


def conformity(frame: pd.DataFrame, line: Line, *, key: str) -> None:
    """The plausible values of a lot mean against the limits of a line."""
    spec = _conformity_spec(
        log=line.scale == "log", lower=line.lower is not None, upper=line.upper is not None
    )
    st.vega_lite_chart(frame, spec, key=key)


def stream(survey: Survey, stream_key: StreamKey, *, chosen: str, key: str) -> None:
    """One stream with what is usual and what is allowed; a click on a lot opens it."""
    points = survey.of(stream_key)
    signals = survey.signals()
    mine = signals[signals["stream"] == points["stream"].iloc[0]]
    line = session.line_for(stream_key)
    st.markdown(wording.trend(points, mine, frozen=stream_key in survey.frozen, chosen=chosen))
    frame = tables.stream_frame(points, mine, line=line, chosen=chosen)
    brackets = tuple(
        side for side in ("lower", "upper") if line is not None and getattr(line, side) is not None
    )
    spec = _stream_spec(
        log=_is_log(points),
        limits=bool(points["sigma"].notna().any()),
        brackets=brackets,
    )
    event = st.vega_lite_chart(frame, spec, key=key, on_select="rerun")
    for picked in event["selection"].get(PICK, []):
        if picked.get("lot") and picked["lot"] != chosen:
            st.switch_page("screens/lot.py", query_params={"lot": picked["lot"]})


@st.cache_resource
def _acceptance_spec(*, title: str) -> dict[str, Any]:
    return as_spec(acceptance_curve_chart(title=title))


def acceptance_curve(frame: pd.DataFrame, *, title: str) -> None:
    """How likely a plan is to accept a lot."""
    st.vega_lite_chart(frame, _acceptance_spec(title=title), key=f"acceptance-{title}")


def weighted_average(survey: Survey, stream_key: StreamKey) -> None:
    """The average that remembers, on the stream's own figure."""
    frame, points = _frame(survey, stream_key)
    if not points["sigma"].notna().any():
        st.info(wording.NO_LIMITS)
        return
    spec = _stream_spec(log=_is_log(points), limits=True, brackets=())
    st.vega_lite_chart(views.weighted_average(frame, points), spec, key="weighted")


def running_sums(survey: Survey, stream_key: StreamKey) -> None:
    """The two running sums against their decision."""
    frame, points = _frame(survey, stream_key)
    if not points["sigma"].notna().any():
        st.info(wording.NO_LIMITS)
        return
    st.vega_lite_chart(views.running_sums(frame, points), _running_sums_spec(), key="sums")


def spread_within(survey: Survey, stream_key: StreamKey, readings: Stream) -> None:
    """The spread between the samples of each lot, and where the variation sits."""
    frame, points = _frame(survey, stream_key)
    shown, found = views.spread_within(frame, readings)
    st.markdown(wording.components(found, log=_is_log(points), unit=str(points["unit"].iloc[0])))
    spec = _stream_spec(log=False, limits=True, brackets=())
    st.vega_lite_chart(shown, spec, key="spread")


def scores(survey: Survey, stream_key: StreamKey) -> None:
    """Each lot against those before it."""
    frame, points = _frame(survey, stream_key)
    shown = views.scores(frame, points)
    if shown.empty:
        st.info("A score needs two lots before it; wait for the third.")
        return
    spec = _stream_spec(log=False, limits=True, brackets=())
    st.vega_lite_chart(shown, spec, key="scores")


def together(frame: pd.DataFrame) -> None:
    """All characteristics in one distance."""
    spec = _stream_spec(log=False, limits=True, brackets=())
    st.vega_lite_chart(frame, spec, key="together")


def timeline(survey: Survey, keys: Sequence[StreamKey]) -> None:
    """Several streams under each other over the same time."""
    for number, (key, frame) in enumerate(tables.timeline_frames(survey, keys).items()):
        st.markdown(wording.stream_name(key))
        spec = _timeline_spec(log=_is_log(survey.of(key)))
        st.vega_lite_chart(frame, spec, key=f"timeline-{number}")


def _frame(survey: Survey, stream_key: StreamKey) -> tuple[pd.DataFrame, pd.DataFrame]:
    points = survey.of(stream_key)
    signals = survey.signals()
    mine = signals[signals["stream"] == points["stream"].iloc[0]]
    return tables.stream_frame(points, mine, line=None), points


def _is_log(points: pd.DataFrame) -> bool:
    return bool((points["scale"] == "log").all())


def keys_of(survey: Survey, lot: str) -> list[StreamKey]:
    """The streams that a lot has a point in, own methods first."""
    mine = survey.points[survey.points["lot"] == lot]
    keys = [
        StreamKey(**{name: row[name] for name in StreamKey.__dataclass_fields__})
        for row in mine.to_dict("records")
    ]
    declared = session.declared_methods()
    return sorted(keys, key=lambda key: (key.characteristic != "heat", key.method in declared))
