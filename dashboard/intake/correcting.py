"""A row that says another value than the one that stands: old and new, and what would change."""

import pandas as pd
import streamlit as st

from dashboard.frame import pending, session, signing
from dashboard.frame.escaping import plain
from dashboard.intake import blocks
from dashboard.intake.tables.mending import blends_table
from dashboard.intake.words import correcting
from spc.errors import LotHeatError
from spc.store import Store
from spc.store.files.changed_results import Correction


def form(store: Store, held: pd.DataFrame, *, key: str) -> None:
    """The part of a group of changed rows in which one of them is accepted as a correction."""
    receipt = str(held["receipt"].iloc[0])
    lots = dict(zip(held["source_row"].tolist(), held["lot"].tolist(), strict=True))
    row = st.selectbox(
        "Correction to look at",
        list(lots),
        format_func=lambda number: plain(correcting.row(number, lots[number])),
        index=0 if len(lots) == 1 else None,
        placeholder="Choose a row, to see old and new side by side",
        key=f"correcting-{key}",
    )
    if row is None:
        return
    try:
        told = _would_correct(store.revision(), receipt, row)
    except LotHeatError as problem:
        st.info(plain(str(problem)))
        return
    st.dataframe(correcting.side_by_side(told), hide_index=True)
    st.markdown(plain(correcting.follows(told)))
    if told.consequences is not None:
        st.html(blocks.changed(told.consequences.changed))
        if not told.consequences.blends.empty:
            st.dataframe(blends_table(told.consequences), hide_index=True)
    _sign(store, told, row, key)


@st.cache_resource(max_entries=8, show_spinner="Judging the lots again with it …")
def _would_correct(
    revision: tuple[str, int],  # noqa: ARG001 - the cache's key
    receipt: str,
    row: int,
) -> Correction:
    return session.store().intake.would_correct(receipt, [row])


def _sign(store: Store, told: Correction, row: int, key: str) -> None:
    pending.about(told.subject, key=told.receipt)
    with st.form(f"correct-{key}-{row}"):
        st.markdown(correcting.HOW)
        reason = st.text_input("Why the new value is right")
        signed = st.form_submit_button("Accept the correction")
    if signed:
        signing.ask(
            lambda by: store.intake.ask_correction(told.receipt, [row], reason=reason, by=by)
        )
