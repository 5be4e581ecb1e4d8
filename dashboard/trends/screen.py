"""Whether a supplier's material is still what it was."""

import streamlit as st

from dashboard.frame import choosing, saving, session
from dashboard.trends import baseline, investigations, tables, views

store = session.store()
survey = session.survey()

st.title("Trends")
session.told()
if survey.points.empty:
    st.markdown("No result can be charted yet.")
    st.page_link("intake/screen.py", label="Receive a file with results")
    st.stop()

key = choosing.stream(store.stream_keys())
view = choosing.view()
points = survey.of(key)
signals = survey.signals()
mine = signals[signals["stream"] == points["stream"].iloc[0]]

views.at(survey, key, view)

st.subheader("Signals in words")
st.dataframe(tables.signals_in_words(mine), hide_index=True)
investigations.notes(store, key, mine)

st.subheader("Beside other streams")
views.beside(survey, key, store.stream_keys())

st.subheader("Against the specification")
views.capability(points, mine, key)

st.subheader("The lots")
table = tables.stream_table(points, mine)
st.dataframe(table, hide_index=True)
saving.table(table, name="trend")

st.subheader("Baseline")
baseline.baseline(store, key, points)
