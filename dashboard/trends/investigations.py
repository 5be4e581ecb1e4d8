"""Looking into a signal: what the cause is, what is done about it, and how it ended."""

from functools import partial

import pandas as pd
import streamlit as st

from dashboard.frame.changing import done
from dashboard.gate import present
from dashboard.trends import blocks, words
from spc.store import Store, StreamKey


def notes(store: Store, key: StreamKey, signals: pd.DataFrame) -> None:
    """What was found out so far, and the form to say more."""
    past = store.investigations(key)
    if past.empty:
        st.markdown("No signal of this stream has been looked into yet.")
    else:
        st.html(blocks.investigations(past))
    still_open = past[past["closed_by"] == ""]
    if not signals.empty:
        _begin(store, key, signals)
    if not still_open.empty:
        _end(store, still_open)


def _begin(store: Store, key: StreamKey, signals: pd.DataFrame) -> None:
    rules = words.rules_by_lot(signals)
    with st.expander("Look into a signal"), st.form("investigation"):
        lot = st.selectbox("Lot", list(rules), format_func=partial(words.signalled, rules))
        cause = st.text_input("Cause, as far as it is known")
        action = st.text_input("What is done about it")
        signed = st.form_submit_button("Note it", type="primary")
    if signed and lot:
        done(
            lambda: store.investigate(
                key, lot, signals=rules[lot], cause=cause, action=action, by=present.proof()
            ),
            lambda _: f"The signal at {lot} is being looked into.",
        )


def _end(store: Store, still_open: pd.DataFrame) -> None:
    labels = dict(zip(still_open["investigation"], words.opened(still_open), strict=True))
    with st.expander("Close an investigation"), st.form("conclusion"):
        chosen = st.selectbox("Investigation", list(labels), format_func=labels.__getitem__)
        conclusion = st.text_input("How it ended")
        signed = st.form_submit_button("Close it", type="primary")
    if signed and chosen:
        done(
            lambda: store.close_investigation(chosen, conclusion=conclusion, by=present.proof()),
            lambda _: "The investigation is closed.",
        )
