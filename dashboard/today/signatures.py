"""What waits for this person to sign or countersign, and what became of lots they held."""

import streamlit as st

from dashboard.frame import acting, pending
from dashboard.today import blocks, words
from spc.store import Store


def section(store: Store) -> None:
    """Nothing where nothing waits."""
    by = acting.proof()
    waiting, alone = store.signing.pending(by=by), store.signing.to_countersign(by=by)
    released = store.signing.released(by=by)
    if waiting:
        st.subheader(words.FOR_YOU)
        pending.shown(waiting)
    if alone:
        st.subheader(words.ALONE)
        pending.shown(alone)
    if released:
        st.subheader(words.RELEASED)
        st.html(blocks.released(released))
