"""Who is consistent, who is drifting, whom to believe, and what heat costs."""

import streamlit as st

from dashboard import comparing, session
from dashboard.wording import suppliers as worded

store = session.store()

st.title("Suppliers")
told = comparing.chosen(store)
if told is None:
    st.stop()

st.markdown(worded.answer(told))
if told.found.left_out:
    st.caption(worded.left_out(told))

comparing.pictures(told)

st.subheader("What is odd about certificates")
comparing.oddities(told)

st.subheader("Who delivers at which level")
comparing.level(told)

st.subheader("All suppliers")
comparing.table(told)

st.subheader("Scorecard of one supplier")
comparing.card(store, told)

comparing.how(told)
