"""Figures on the screen: built once for each variant, then fed with data by name."""

from typing import Any

import pandas as pd
import streamlit as st

from dashboard.frame import stream_tables, stream_words
from dashboard.frame.charts.spec import as_spec
from dashboard.frame.charts.stream_chart import PICK, stream_chart
from dashboard.frame.escaping import marked
from spc.answers.charted_streams import ChartedStream


@st.cache_resource
def stream_spec(*, log: bool, limits: bool, brackets: tuple[str, ...]) -> dict[str, Any]:
    """The stream's figure, built once for each variant."""
    return as_spec(stream_chart(log=log, limits=limits, brackets=brackets))


def stream(charted: ChartedStream, *, chosen: str, key: str) -> None:
    """One stream with what is usual and what is allowed; a click on a lot opens it."""
    points, signals, line = charted.points, charted.signals, charted.line
    st.markdown(marked(stream_words.trend(points, signals, frozen=charted.frozen, chosen=chosen)))
    frame = stream_tables.stream_frame(points, signals, line=line, chosen=chosen)
    brackets = tuple(
        side for side in ("lower", "upper") if line is not None and getattr(line, side) is not None
    )
    spec = stream_spec(
        log=is_log(points),
        limits=bool(points["sigma"].notna().any()),
        brackets=brackets,
    )
    event = st.vega_lite_chart(frame, spec, key=key, on_select="rerun")
    for picked in event["selection"].get(PICK, []):
        if picked.get("lot") and picked["lot"] != chosen:
            st.switch_page("lots/lot.py", query_params={"lot": picked["lot"]})


def is_log(points: pd.DataFrame) -> bool:
    """Whether the stream is drawn on log scale."""
    return bool((points["scale"] == "log").all())
