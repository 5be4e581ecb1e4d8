"""How a method measures: how far off, how repeatable, and what was done about it."""

import streamlit as st

from dashboard.frame import choosing, session
from dashboard.frame.escaping import marked
from dashboard.methods.overview import answer
from dashboard.methods.sections import SECTIONS
from spc.answers.methods import own_methods

store = session.store()
own = own_methods(store)

st.title("Methods")
session.show_message()
if not own:
    st.markdown("No method has been received yet.")
    st.page_link("intake/screen.py", label="Receive a catalogue that holds one")
    st.stop()

stated = choosing.method(own)
st.markdown(marked(answer(store, stated)))

section = choosing.section(list(SECTIONS))
SECTIONS[section](store, stated)
