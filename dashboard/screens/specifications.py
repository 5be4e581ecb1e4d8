"""What a material must be, who approved it, and what another limit would have done."""

import streamlit as st

from dashboard import proposals, proposing, session, wording

store = session.store()
catalogue = store.catalogue()

st.title("Specifications")
session.told()
materials = sorted({one.material for one in catalogue.specifications})
if not materials:
    st.markdown("No specification has been received yet.")
    st.page_link("screens/intake.py", label="Receive a catalogue that holds one")
    st.stop()

material = st.selectbox("Material", materials, key="material", bind="query-params")
versions = [one for one in catalogue.specifications if one.material == material]
newest = max(versions, key=lambda one: one.version)

st.markdown(wording.specification(newest))
st.dataframe(proposals.specification_table(newest), hide_index=True)
st.caption(wording.LAW)

st.subheader("Versions")
st.dataframe(proposals.versions_table(versions), hide_index=True)

st.subheader("Propose the next version")
proposing.next_version(store, catalogue, newest)
