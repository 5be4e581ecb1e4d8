"""Where a lot's numbers come from: every reading, its calculation, and results made void."""

import streamlit as st

from dashboard.frame import origins, pending, signing
from dashboard.lots import blocks, words
from dashboard.lots.tables import results_table
from spc.store import Store


def readings(store: Store, name: str) -> None:
    """Every reading, and the calculation of any of them down to its row and file."""
    results = store.results(name)
    if results.empty:
        st.markdown("No result of this lot has been received.")
        return
    st.dataframe(results_table(results), hide_index=True)
    labels = dict(zip(results["result"], words.results(results), strict=True))
    chosen = st.selectbox(
        "Open a number",
        list(labels),
        format_func=labels.__getitem__,
        index=None,
        placeholder="Choose a result to see how it was worked out",
    )
    if chosen:
        origins.number(store, chosen)
        _void(store, chosen)


def _void(store: Store, chosen: str) -> None:
    """The form to make a result void; the result stays in the record."""
    with st.expander("Make this result void"), st.form("void"):
        st.markdown(words.VOID)
        cause = st.text_input("Laboratory cause that was found")
        signed = st.form_submit_button("Make void")
    if signed:
        signing.ask(lambda by: store.ask_invalidation(chosen, cause=cause, by=by))


def void(store: Store, name: str) -> None:
    """Results that were made void with their cause, and what waits to be."""
    pending.about(f"a result of lot {name}")
    frame = store.invalidations(name)
    if not frame.empty:
        st.html(blocks.void(frame))
    corrected = store.intake.corrections(name)
    if not corrected.empty:
        st.html(blocks.corrected(corrected))
