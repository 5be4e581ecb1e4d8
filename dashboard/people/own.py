"""One's own sessions."""

import streamlit as st

from dashboard.frame import acting
from dashboard.frame.changing import done
from dashboard.frame.escaping import marked
from dashboard.people import tables, words
from spc.store import Store
from spc.store.people import Actor


def sessions(store: Store, me: Actor) -> None:
    """Where somebody is signed in, and the way to end it everywhere."""
    mine = store.people.sessions(me.person)
    st.markdown(marked(words.sessions(len(mine))))
    st.dataframe(tables.sessions(mine), hide_index=True)
    if st.button("Sign out everywhere"):
        done(
            lambda: store.people.end_sessions(me.person, by=acting.proof()),
            lambda _: "Every session of yours has ended.",
        )
