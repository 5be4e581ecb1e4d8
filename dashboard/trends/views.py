"""Ways of looking at a stream: one view at a time, or beside other streams."""

from collections.abc import Sequence

import pandas as pd
import streamlit as st

from dashboard.frame import drawing, session
from dashboard.trends import pictures, words
from spc.answers import stream_capability, streams
from spc.answers.streams import View
from spc.capability import Capability
from spc.charts import price
from spc.errors import InvalidInput
from spc.store import StreamKey, Survey


def at(survey: Survey, key: StreamKey, view: View) -> None:
    """The stream in the view chosen, with its sentence."""
    st.markdown(words.VIEW_SENTENCES[view])
    match view:
        case "lot values":
            drawing.stream(survey, key, chosen="", key="trend")
            _price(survey, key)
        case "weighted average":
            pictures.weighted_average(survey, key)
        case "running sums":
            pictures.running_sums(survey, key)
        case "spread within lots":
            _spread(survey, key)
        case "scores without a baseline":
            pictures.scores(survey, key)
        case "all characteristics together":
            _together(survey, key)


def _spread(survey: Survey, key: StreamKey) -> None:
    try:
        pictures.spread_within(survey, key, session.store().stream(key))
    except InvalidInput as problem:
        st.info(f"{problem.what[0].upper()}{problem.what[1:]} {problem.remedy}")


def _together(survey: Survey, key: StreamKey) -> None:
    try:
        frame, shares = streams.together(survey, key, session.declared_methods())
    except InvalidInput as problem:
        st.info(f"{problem.what[0].upper()}{problem.what[1:]} {problem.remedy}")
        return
    pictures.together(frame)
    st.markdown("What each characteristic adds to a lot's distance, given the others:")
    st.dataframe(shares, hide_index=True)


def _price(survey: Survey, key: StreamKey) -> None:
    """What the stream's run rules cost and bring, where it has limits to judge by."""
    points = survey.of(key)
    if points["sigma"].notna().any():
        st.caption(priced(survey.rules(key), words.lots_per_month(points)))


def capability(points: pd.DataFrame, signals: pd.DataFrame, key: StreamKey) -> None:
    """How the stream fits its specification, or why nobody should say."""
    line = session.line_for(key)
    if line is None or line.requirement != "average":
        st.markdown("No limits of the specification hold for this stream on its basis.")
        return
    found = stream_capability.capability(points, signals, line)
    st.markdown(f"{stream_capability.told(found)} {stream_capability.most_lots(points, line)}")
    if isinstance(found, Capability):
        st.dataframe(stream_capability.table(found), hide_index=True)


def beside(survey: Survey, key: StreamKey, keys: Sequence[StreamKey]) -> None:
    """The stream with others of the same characteristic, on one time axis."""
    others = [one for one in keys if one.characteristic == key.characteristic and one != key]
    chosen = st.multiselect(
        "Compare with",
        [one.name for one in others],
        key="beside",
        bind="query-params",
        placeholder="Choose streams to stand under this one",
    )
    if chosen:
        pictures.timeline(survey, [key, *(one for one in others if one.name in chosen)])


@st.cache_data(max_entries=200)
def priced(rules: tuple[str, ...], lots_per_month: float) -> str:
    """What a set of run rules costs and brings, in a sentence."""
    return words.priced(price(rules, lots_per_month=lots_per_month))
