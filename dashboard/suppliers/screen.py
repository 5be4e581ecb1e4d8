"""Who is consistent, who is drifting, whom to believe, and what heat costs."""

import streamlit as st

from dashboard.frame import session
from dashboard.frame.escaping import marked
from dashboard.suppliers import choice, evidence, pictures, scorecard
from dashboard.suppliers.words import comparison

store = session.store()

st.title("Suppliers")
told = choice.chosen(store)
if told is None:
    st.stop()

st.markdown(marked(comparison.answer(told)))
if told.found.left_out:
    st.caption(marked(comparison.left_out(told)))

pictures.four_questions(told)

st.subheader("What is odd about certificates")
evidence.oddities(told)

st.subheader("Who delivers at which level")
pictures.level(told)

st.subheader("All suppliers")
evidence.table(told)

st.subheader("Scorecard of one supplier")
scorecard.section(store, told)

evidence.how(told)
