"""What is stated of a method, and how that changed."""

import streamlit as st

from dashboard import markup
from dashboard.measuring import known, listing
from dashboard.tables import methods as tabled
from dashboard.wording import methods as worded
from spc.intake.methods import MeasuringMethod
from spc.store import Store


def section(store: Store, stated: MeasuringMethod) -> None:
    """The figures in force, and every version with who brought it and why."""
    unit, _ = known.scale_of(stated)
    st.html(markup.pairs(worded.stated(stated, unit=unit)))
    st.caption(worded.STATED)
    st.subheader("Versions")
    versions = store.compare.method_versions(stated.characteristic, stated.method)
    listing.table(tabled.method_versions_table(versions), name="versions-of-the-method")
