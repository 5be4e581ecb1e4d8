"""Held rows that are right as they stand: a person says so, and how they know."""

import pandas as pd
import streamlit as st

from dashboard.frame.changing import done
from dashboard.gate import present
from dashboard.intake.words import mending
from spc.store import Store


def form(store: Store, held: pd.DataFrame, *, key: str) -> None:
    """The part of a group of held rows in which they are said to be right."""
    receipt = str(held["receipt"].iloc[0])
    rows = held["source_row"].tolist()
    with st.form(f"right-{key}"):
        st.markdown(mending.RIGHT)
        reason = st.text_input("How you know that they are right")
        wanted = st.form_submit_button(mending.are_right(len(rows)))
    if wanted:
        done(
            lambda: store.intake.confirm(receipt, rows, by=present.proof(), reason=reason),
            mending.confirmed,
        )
