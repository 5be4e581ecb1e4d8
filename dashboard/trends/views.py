"""Ways of looking at a stream: one view at a time, or beside other streams."""

from collections.abc import Sequence

import streamlit as st

from dashboard.frame import drawing, session
from dashboard.frame.escaping import marked
from dashboard.trends import pictures, words
from dashboard.trends.tables import contributions_table
from spc.answers import stream_capability, streams
from spc.answers.charted_streams import ChartedStream, lots_per_month
from spc.answers.methods import declared_methods
from spc.answers.streams import View
from spc.answers.together import all_together
from spc.capability import Capability
from spc.charts import price
from spc.errors import InvalidInput
from spc.store import StreamKey, Survey


def at(survey: Survey, charted: ChartedStream, view: View) -> None:
    """The stream in the view chosen, with its sentence."""
    st.markdown(marked(words.VIEW_SENTENCES[view]))
    match view:
        case "lot values":
            drawing.stream(charted, chosen="", key="trend")
            _price(survey, charted)
        case "weighted average":
            pictures.weighted_average(charted)
        case "running sums":
            pictures.running_sums(charted)
        case "spread within lots":
            _spread(charted)
        case "scores without a baseline":
            pictures.scores(charted)
        case "all characteristics together":
            _together(survey, charted.key)


def _spread(charted: ChartedStream) -> None:
    try:
        found = streams.spread_within(session.store().stream(charted.key))
    except InvalidInput as problem:
        st.info(marked(f"{problem.what[0].upper()}{problem.what[1:]} {problem.remedy}"))
        return
    pictures.spread_within(charted, found)


def _together(survey: Survey, key: StreamKey) -> None:
    try:
        found = all_together(survey, key, declared_methods(session.store()))
    except InvalidInput as problem:
        st.info(marked(f"{problem.what[0].upper()}{problem.what[1:]} {problem.remedy}"))
        return
    pictures.together(found)
    st.markdown("What each characteristic adds to a lot's distance, given the others:")
    st.dataframe(contributions_table(found), hide_index=True)


def _price(survey: Survey, charted: ChartedStream) -> None:
    """What the stream's run rules cost and bring, where it has limits to judge by."""
    if charted.points["sigma"].notna().any():
        st.caption(marked(priced(survey.rules(charted.key), lots_per_month(charted.points))))


def capability(charted: ChartedStream) -> None:
    """How the stream fits its specification, or why nobody should say."""
    line = charted.line
    if line is None or line.requirement != "average":
        st.markdown("No limits of the specification hold for this stream on its basis.")
        return
    found = stream_capability.capability_of_stream(charted.points, charted.signals, line)
    most = stream_capability.most_lots_sentence(charted.points, line)
    st.markdown(marked(f"{stream_capability.capability_sentence(found)} {most}"))
    if isinstance(found, Capability):
        st.dataframe(stream_capability.capability_table(found), hide_index=True)


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
