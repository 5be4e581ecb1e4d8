"""What waits, and what moved."""

import streamlit as st

from dashboard.frame import answered, markup, session
from dashboard.frame.escaping import marked
from dashboard.frame.words import day
from dashboard.today import accepting, blocks, record, signatures, words
from dashboard.today.tables import held_kinds, routine
from spc.answers.charted_streams import recent_signals

store = session.store()
today = store.today()
waiting = store.lots(waiting=True)
verdicts = answered.verdicts(waiting["lot"].tolist())
signals = recent_signals(store, answered.survey(), days=30)
held = store.held()

st.title(marked(day(today)))
st.markdown(
    marked(words.today(waiting, verdicts, held=len(held), moved=signals["stream"].nunique())),
)

session.show_message()
signatures.section(store)

if waiting.empty:
    st.page_link("intake/screen.py", label="Receive a file")
else:
    accepting.section(store, routine(waiting, verdicts))
    st.html(markup.queue(waiting, verdicts, today))

st.subheader("What moved in the last 30 days")
if signals.empty:
    st.markdown("Nothing: every new lot is within what is usual for its supplier.")
else:
    st.html(blocks.moved(signals))

st.subheader("Held at intake")
if held.empty:
    st.markdown("No row waits for a person.")
else:
    st.html(blocks.held(held_kinds(held)))
    st.page_link("intake/screen.py", label="Open the held rows")

record.show()
