"""Cells of one text that stand for no number: read all of them alike, with one click."""

import pandas as pd
import streamlit as st

from dashboard.frame.changing import done
from dashboard.frame.escaping import marked
from dashboard.gate import present
from dashboard.intake.tables.alike import Alike, alike_cells
from dashboard.intake.words import mending
from spc.store import Store

_CODES = ("unreadable-number", "ambiguous-number")
# Each is a form; what is left waits for the next look.
_SHOWN = 5


def form(store: Store, held: pd.DataFrame, *, key: str) -> None:
    """For each text that held several rows, how all of them are to be read."""
    if not held["code"].isin(_CODES).all():
        return
    receipt = str(held["receipt"].iloc[0])
    found = alike_cells(held, store.intake.profile_of(receipt))
    for place, one in enumerate(found[:_SHOWN]):
        _read_alike(store, receipt, one, key=f"{key}-{place}")


def _read_alike(store: Store, receipt: str, one: Alike, *, key: str) -> None:
    with st.form(f"alike-{key}"):
        st.markdown(marked(mending.alike(one)))
        meant = st.radio(
            "Read all of these as",
            list(mending.ALIKE),
            format_func=mending.ALIKE.__getitem__,
            index=None,
            horizontal=True,
        )
        left, right = st.columns(2)
        text = left.text_input("Another text", help=mending.ANOTHER)
        reason = right.text_input("How you know")
        wanted = st.form_submit_button(f"Read all {len(one.rows)} alike")
    if not wanted:
        return
    if meant is None and not text.strip():
        st.error(mending.CHOOSE)
        return
    cells = {one.header: text.strip() or str(meant)}
    done(
        lambda: store.intake.mend(receipt, one.rows, cells, by=present.proof(), reason=reason),
        mending.mended,
    )
