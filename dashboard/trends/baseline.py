"""Freezing a baseline: which lots say what is usual, from where on, signed and with reasons."""

import pandas as pd
import streamlit as st

from dashboard.frame.changing import done
from dashboard.frame.escaping import marked
from dashboard.gate import present
from dashboard.trends import words
from dashboard.trends.tables import baselines_table
from spc import charts
from spc.charts.stages import KINDS
from spc.store import Choice, Store, StreamKey


def baseline(store: Store, key: StreamKey, points: pd.DataFrame) -> None:
    """Past versions, what to look at first, and the form for the next."""
    past = store.baselines(key)
    if past.empty:
        st.markdown(words.PROVISIONAL)
    else:
        st.dataframe(baselines_table(past), hide_index=True)
    with st.expander("Freeze a baseline"):
        for sentence in words.suggested(points):
            st.markdown(marked(f"- {sentence}"))
        _form(store, key, points["lot"].tolist())


def _form(store: Store, key: StreamKey, lots: list[str]) -> None:
    with st.form("baseline"):
        between = st.select_slider(
            "From the first to the last lot of the baseline", lots, value=(lots[0], lots[-1])
        )
        left_out = st.multiselect("Leave out", lots)
        why = st.text_input("Why they are left out")
        left, right = st.columns(2)
        applies_from = left.selectbox(
            "Judges lots from", lots, help="Earlier lots keep the limits they had."
        )
        restarts = right.checkbox("Patterns begin anew there (new crop or method)")
        kind = left.selectbox("Limits by", KINDS, format_func=words.kind)
        rules = right.multiselect(
            "What is called unusual", list(charts.RULES), default=list(charts.DEFAULT_RULES)
        )
        reason = st.text_input("Reason for this baseline")
        signed = st.form_submit_button("Freeze", type="primary")
    if signed:
        inside = lots[lots.index(between[0]) : lots.index(between[1]) + 1]
        choice = Choice(
            lots=tuple(lot for lot in inside if lot not in left_out),
            left_out=dict.fromkeys(left_out, why),
            applies_from=str(applies_from),
            restarts=restarts,
            kind=kind or KINDS[0],
            rules=tuple(rules),
        )
        _freeze(store, key, choice, reason)


def _freeze(store: Store, key: StreamKey, choice: Choice, reason: str) -> None:
    done(
        lambda: store.freeze_baseline(key, choice, by=present.proof(), reason=reason),
        lambda version: f"Baseline {version} of {len(choice.lots)} lots is frozen.",
    )
