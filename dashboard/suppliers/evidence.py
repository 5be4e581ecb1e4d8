"""What the comparison rests on: odd certificates, every supplier, how it was worked out."""

import streamlit as st

from dashboard.frame import saving
from dashboard.frame.escaping import marked
from dashboard.suppliers.tables.comparison import patterns_table, suppliers_table
from dashboard.suppliers.tables.files import beside, suppliers_file
from dashboard.suppliers.words import certificates, method
from spc.answers.suppliers_compared import SuppliersCompared


def oddities(told: SuppliersCompared) -> None:
    """What is odd about certificates, and what was looked for."""
    st.markdown(marked(certificates.looked_for(told)))
    for sentence in certificates.odd(told):
        st.markdown(marked(f"- {sentence}"))
    patterns = patterns_table(told)
    if not patterns.empty:
        with st.expander("Every pattern with its test"):
            st.dataframe(patterns, hide_index=True)


def table(told: SuppliersCompared) -> None:
    """Every supplier, with what cannot be said, and all of it to be saved."""
    for sentence in told.suppliers.reasons:
        st.markdown(marked(f"- {sentence}"))
    st.dataframe(suppliers_table(told), hide_index=True)
    name = f"suppliers {told.found.material} {told.found.characteristic}".replace(" ", "-")
    saving.table(suppliers_file(told), name=name, beside=beside(told))


def how(told: SuppliersCompared) -> None:
    """By which methods, and how sure."""
    with st.expander("How this was worked out"):
        for paragraph in method.how(told):
            st.markdown(marked(paragraph))
