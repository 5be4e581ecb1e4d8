"""Figures on the screen: built once for each variant, then fed with data by name."""

from typing import Any

import pandas as pd
import streamlit as st

from dashboard import session, tables, wording
from dashboard.figures.conformity_chart import conformity_chart
from dashboard.figures.spec import as_spec
from dashboard.figures.stream_chart import PICK, stream_chart
from spc.acceptance import Line
from spc.store import StreamKey, Survey


@st.cache_resource
def _stream_spec(*, log: bool, limits: bool, brackets: tuple[str, ...]) -> dict[str, Any]:
    return as_spec(stream_chart(log=log, limits=limits, brackets=brackets))


@st.cache_resource
def _conformity_spec(*, log: bool, lower: bool, upper: bool) -> dict[str, Any]:
    return as_spec(conformity_chart(log=log, lower=lower, upper=upper))


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
        log=bool((points["scale"] == "log").all()),
        limits=bool(points["sigma"].notna().any()),
        brackets=brackets,
    )
    event = st.vega_lite_chart(frame, spec, key=key, on_select="rerun")
    for picked in event["selection"].get(PICK, []):
        if picked.get("lot") and picked["lot"] != chosen:
            st.switch_page("screens/lot.py", query_params={"lot": picked["lot"]})


def keys_of(survey: Survey, lot: str) -> list[StreamKey]:
    """The streams that a lot has a point in, own methods first."""
    mine = survey.points[survey.points["lot"] == lot]
    keys = [
        StreamKey(**{name: row[name] for name in StreamKey.__dataclass_fields__})
        for row in mine.to_dict("records")
    ]
    declared = session.declared_methods()
    return sorted(keys, key=lambda key: (key.characteristic != "heat", key.method in declared))
