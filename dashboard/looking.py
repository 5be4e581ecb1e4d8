"""Ways of looking at a stream: one view at a time, or beside other streams."""

from collections.abc import Sequence

import streamlit as st

from dashboard import drawing, session, views, wording
from dashboard.views import View
from spc.errors import InvalidInput
from spc.store import StreamKey, Survey


def at(survey: Survey, key: StreamKey, view: View) -> None:
    """The stream in the view chosen, with its sentence."""
    st.markdown(wording.VIEW_SENTENCES[view])
    match view:
        case "lot values":
            drawing.stream(survey, key, chosen="", key="trend")
        case "weighted average":
            drawing.weighted_average(survey, key)
        case "running sums":
            drawing.running_sums(survey, key)
        case "scores without a baseline":
            drawing.scores(survey, key)
        case "all characteristics together":
            _together(survey, key)


def _together(survey: Survey, key: StreamKey) -> None:
    try:
        frame, shares = views.together(survey, key, session.declared_methods())
    except InvalidInput as problem:
        st.info(str(problem))
        return
    drawing.together(frame)
    st.markdown("What each characteristic adds to a lot's distance, given the others:")
    st.dataframe(shares, hide_index=True)


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
        drawing.timeline(survey, [key, *(one for one in others if one.name in chosen)])
