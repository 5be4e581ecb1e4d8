"""A page that says whose it is and how often it was looked at; for tests of the gate."""

import streamlit as st

from dashboard.gate.present import present

person = present()
if person is None:
    st.text("nobody")
    st.stop()
st.session_state["looks"] = st.session_state.get("looks", 0) + 1
st.text(f"{person.name} {st.user.get('person')} looked {st.session_state['looks']} times")
