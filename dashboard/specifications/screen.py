"""What a material must be, who approved it, and what another limit would have done."""

import streamlit as st

from dashboard.frame import session
from dashboard.frame.approval_words import specification
from dashboard.frame.escaping import marked
from dashboard.specifications import approving, proposing, words
from dashboard.specifications.tables import specification_table, versions_table
from spc.answers.specified_lines import newest_specification, versions_of

store = session.store()
catalogue = store.catalogue()

st.title("Specifications")
session.show_message()
materials = sorted({one.material for one in (*catalogue.specifications, *catalogue.proposed)})
if not materials:
    st.markdown("No specification has been received yet.")
    st.page_link("intake/screen.py", label="Receive a catalogue that holds one")
    st.stop()

material = st.selectbox("Material", materials, key="material", bind="query-params")
approvals = store.approvals.every(kind="specification", name=material)
versions = versions_of(catalogue.specifications, material)
newest = newest_specification(versions or catalogue.proposed, material)

st.markdown(marked(specification(newest, approvals[-1] if approvals else None)))
if versions:
    st.dataframe(specification_table(newest), hide_index=True)
    st.caption(words.LAW)

st.subheader("Waiting for approval")
approving.section(store, material)

if versions:
    st.subheader("Versions")
    st.dataframe(versions_table(versions, approvals), hide_index=True)

st.subheader("Propose the next version")
proposing.next_version(store, catalogue, newest)
