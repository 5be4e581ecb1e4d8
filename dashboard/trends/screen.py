"""Whether a supplier's material is still what it was."""

import streamlit as st

from dashboard.frame import answered, choosing, saving, session
from dashboard.trends import baseline, investigations, views
from dashboard.trends.tables import signals_in_words, stream_table
from spc.answers.charted_streams import charted_stream

store = session.store()
survey = answered.survey()

st.title("Trends")
session.show_message()
if survey.points.empty:
    st.markdown("No result can be charted yet.")
    st.page_link("intake/screen.py", label="Receive a file with results")
    st.stop()

key = choosing.stream(store.stream_keys())
view = choosing.view()
charted = charted_stream(store, survey, key)

views.at(survey, charted, view)

st.subheader("Signals in words")
st.dataframe(signals_in_words(charted.signals), hide_index=True)
investigations.notes(store, key, charted.signals)

st.subheader("Beside other streams")
views.beside(survey, key, store.stream_keys())

st.subheader("Against the specification")
views.capability(charted)

st.subheader("The lots")
table = stream_table(charted.points, charted.signals)
st.dataframe(table, hide_index=True)
saving.table(table, name="trend")

st.subheader("Baseline")
baseline.baseline(store, key, charted.points)
