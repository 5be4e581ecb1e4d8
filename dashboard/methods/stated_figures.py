"""What is stated of a method, and how that changed."""

import streamlit as st

from dashboard.frame import markup
from dashboard.methods import known, listing
from dashboard.methods.tables import methods as tables_methods
from dashboard.methods.words import methods
from spc.intake.methods import MeasuringMethod
from spc.store import Store


def section(store: Store, stated: MeasuringMethod) -> None:
    """The figures in force, and every version with who brought it and why."""
    unit = known.scale_of(stated).unit
    st.html(markup.pairs(methods.stated(stated, unit=unit)))
    st.caption(methods.STATED)
    st.subheader("Versions")
    versions = store.compare.method_versions(stated.characteristic, stated.method)
    listing.table(tables_methods.method_versions_table(versions), name="versions-of-the-method")
