"""Which lots wait, and where to find any other."""

import streamlit as st

from dashboard import markup, saving, session, tables, wording

store = session.store()
today = store.today()
lots = store.lots()
waiting = store.lots(waiting=True)

st.title("Lots")
if lots.empty:
    st.markdown("The store holds no lot yet.")
    st.page_link("screens/intake.py", label="Receive a file that announces lots")
    st.stop()

st.markdown(wording.lots(lots, waiting))
wanted = st.selectbox(
    "Open a lot",
    lots["lot"].tolist()[::-1],
    index=None,
    placeholder="Lot number",
)
if wanted:
    st.switch_page("screens/lot.py", query_params={"lot": wanted})

st.html(markup.queue(waiting, session.verdicts(waiting["lot"].tolist()), today))

st.subheader("All lots")
table = tables.lots_table(lots)
st.dataframe(table, hide_index=True)
saving.table(table, name="lots")
