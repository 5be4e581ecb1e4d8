"""What is stated of a method, and how that changed."""

import streamlit as st

from dashboard.frame import approving, listing, markup
from dashboard.methods import known
from dashboard.methods.tables.versions import method_versions_table
from dashboard.methods.words import stated_figures
from spc.answers.methods import waiting_figures
from spc.intake.methods import MeasuringMethod
from spc.store import Store


def section(store: Store, stated: MeasuringMethod) -> None:
    """The figures in force, those that wait, and every version with who brought it and why."""
    unit = known.scale_of(stated).unit
    st.html(markup.pairs(stated_figures.stated(stated, unit=unit)))
    st.caption(stated_figures.STATED)
    for one in waiting_figures(store, stated):
        approving.proposal(store, one, verb="Adopt")
    st.subheader("Versions")
    versions = store.compare.method_versions(stated.characteristic, stated.method)
    listing.table(method_versions_table(versions), name="versions-of-the-method")
