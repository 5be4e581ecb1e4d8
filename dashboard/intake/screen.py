"""Taking in a file, and what waits because it could not be taken in."""

import streamlit as st

from dashboard.frame import saving, session
from dashboard.frame.escaping import plain
from dashboard.intake import by_hand, held_rows, receiving, watched_folder, withdrawing
from dashboard.intake.tables.files import receipts_seen
from dashboard.intake.words import files

store = session.store()
held = store.held()
receipts = store.receipts()

st.title("Intake")
st.markdown(plain(files.intake(receipts, held)))
session.show_message()

receiving.delivery(store)
by_hand.form(store)
watched_folder.section()

st.subheader("Held rows")
if held.empty:
    st.markdown("No row waits for a person.")
else:
    held_rows.section(store, held)

st.subheader("Received files")
table = receipts_seen(receipts)
st.dataframe(table, hide_index=True)
saving.table(table, name="receipts")

st.subheader("What hangs on a file or a sensor batch")
withdrawing.section(store)
