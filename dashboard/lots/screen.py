"""Which lots wait, and where to find any other."""

import streamlit as st

from dashboard.frame import answered, markup, saving, session
from dashboard.frame.escaping import marked
from dashboard.frame.tables import lots_table
from dashboard.lots import words

store = session.store()
today = store.today()
lots = store.lots()
waiting = store.lots(waiting=True)

st.title("Lots")
if lots.empty:
    st.markdown("The store holds no lot yet.")
    st.page_link("intake/screen.py", label="Receive a file that announces lots")
    st.stop()

st.markdown(marked(words.lots(lots, waiting)))
wanted = st.selectbox(
    "Open a lot",
    lots["lot"].tolist()[::-1],
    index=None,
    placeholder="Lot number",
)
if wanted:
    st.switch_page("lots/lot.py", query_params={"lot": wanted})

st.html(markup.queue(waiting, answered.verdicts(waiting["lot"].tolist()), today))

st.subheader("All lots")
table = lots_table(lots)
st.dataframe(table, hide_index=True)
saving.table(table, name="lots")
