"""One lot's dossier: what the evidence says, where it comes from, and the decision."""

import streamlit as st

from dashboard.frame import markup, session
from dashboard.frame.approval_words import specification
from dashboard.frame.escaping import marked
from dashboard.lots import attachments, blocks, decision, dossier, evidence, sampling

store = session.store()
name = st.query_params.get("lot", "")
if not name:
    st.markdown("No lot is named in the address.")
    st.page_link("lots/screen.py", label="Choose a lot")
    st.stop()

lot = store.lot(name)
judged = store.verdict(name)

st.title(marked(f"Lot {lot.lot}"))
st.html(f'<p class="lh-lead">{markup.recommendation_mark(judged)} {markup.sentence(judged)}</p>')
st.html(blocks.facts(lot))
session.show_message()

st.subheader("Against the specification")
version = judged.specification.version
st.caption(
    marked(
        specification(judged.specification, store.approvals.of_specification(lot.material, version))
    )
)
dossier.lines(judged)

st.subheader("To know before signing")
if judged.flags:
    st.html(blocks.flags(judged))
else:
    st.markdown("Nothing stands beside the verdict.")
dossier.held(store, name)

st.subheader("Among this supplier's lots")
dossier.streams(store, lot)

st.subheader("How to sample it")
sampling.advice(store, store.catalogue(), lot)

st.subheader("Where the numbers come from")
evidence.readings(store, name)
evidence.void(store, name)

st.subheader("Decision")
decision.section(store, lot, judged)

st.subheader("Attachments")
attachments.section(store, name)

st.subheader("Who did what")
dossier.who_did_what(store, name)
dossier.record(store, lot)
