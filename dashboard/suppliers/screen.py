"""Who is consistent, who is drifting, whom to believe, and what heat costs."""

import streamlit as st

from dashboard.frame import session
from dashboard.suppliers import comparison
from dashboard.suppliers.words import comparison as words_comparison

store = session.store()

st.title("Suppliers")
told = comparison.chosen(store)
if told is None:
    st.stop()

st.markdown(words_comparison.answer(told))
if told.found.left_out:
    st.caption(words_comparison.left_out(told))

comparison.pictures(told)

st.subheader("What is odd about certificates")
comparison.oddities(told)

st.subheader("Who delivers at which level")
comparison.level(told)

st.subheader("All suppliers")
comparison.table(told)

st.subheader("Scorecard of one supplier")
comparison.card(store, told)

comparison.how(told)
