"""What can be made today: hit a heat level, know the odds, at the least cost."""

import streamlit as st

from dashboard.blends.sections import SECTIONS
from dashboard.frame import choosing, session

store = session.store()

st.title("Blends")
session.show_message()
if not store.catalogue().specifications or store.lots().empty:
    st.markdown("The store holds no specified material or no lot yet.")
    st.page_link("intake/screen.py", label="Receive a catalogue and a file that announces lots")
    st.stop()

section = choosing.section(list(SECTIONS))
SECTIONS[section](store)
