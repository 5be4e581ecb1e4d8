"""What waits, and what moved."""

import streamlit as st

from dashboard import markup, session, tables, wording

store = session.store()
today = store.today()
waiting = store.lots(waiting=True)
verdicts = session.verdicts(waiting["lot"].tolist())
signals = session.recent_signals(30)
held = store.held()

st.title(wording.day(today))
st.markdown(
    wording.today(waiting, verdicts, held=len(held), moved=signals["stream"].nunique()),
)

if waiting.empty:
    st.page_link("screens/intake.py", label="Receive a file")
else:
    st.html(markup.queue(waiting, verdicts, today))

st.subheader("What moved in the last 30 days")
if signals.empty:
    st.markdown("Nothing: every new lot is within what is usual for its supplier.")
else:
    st.html(markup.moved(signals))

st.subheader("Held at intake")
if held.empty:
    st.markdown("No row waits for a person.")
else:
    st.html(markup.held(tables.held_kinds(held)))
    st.page_link("screens/intake.py", label="Open the held rows")
