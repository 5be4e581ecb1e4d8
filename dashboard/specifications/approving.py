"""Versions of a specification that wait for their approval."""

import streamlit as st

from dashboard.frame import approval_words, approving
from dashboard.frame.escaping import marked
from dashboard.specifications import words
from spc.store import Store


def section(store: Store, material: str) -> None:
    """What waits of a material, with its changes and the form to approve; what was not taken."""
    waiting = [
        one for one in store.approvals.proposals() if one.key[:2] == ("specification", material)
    ]
    if not waiting:
        st.markdown(words.NONE_WAITS)
    for one in waiting:
        approving.proposal(store, one, verb="Approve")
    for old in store.approvals.turned_down(kind="specification", name=material):
        st.caption(marked(f"Version {old.version}, {approval_words.turned_down(old)}"))
