"""Versions of a specification that wait for their approval."""

import streamlit as st

from dashboard.frame import approving
from dashboard.specifications import words
from spc.store import Store


def section(store: Store, material: str) -> None:
    """Every version of a material that waits, each with what it changes and the form to approve."""
    waiting = [
        one for one in store.approvals.proposals() if one.key[:2] == ("specification", material)
    ]
    if not waiting:
        st.markdown(words.NONE_WAITS)
    for one in waiting:
        approving.proposal(store, one, verb="Approve")
