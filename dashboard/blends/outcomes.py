"""Predicted against measured, and what the model learnt of itself."""

import streamlit as st

from dashboard.blends import pictures, planned
from dashboard.blends.tables.kept import outcome_frame, outcome_table
from dashboard.blends.words import kept
from dashboard.frame import saving
from dashboard.frame.escaping import marked
from dashboard.frame.listing import LOT_COLUMN
from spc.answers.specified_lines import HEAT
from spc.store import Store


def section(store: Store) -> None:  # noqa: ARG001 - every section is asked alike
    """How blends came out."""
    st.markdown(marked(f"**{kept.learnt(planned.heat_bias())}**"))
    against = planned.against_measured()
    if against.empty:
        st.markdown("No blend has been made yet, so there is nothing to measure a prediction by.")
        return
    heat = against[against["characteristic"] == HEAT]
    frame = outcome_frame(heat)
    if frame.empty:
        st.markdown("No blend that was made has been measured yet.")
    else:
        pictures.outcome(frame, unit=str(heat["unit"].iloc[0]))
        st.caption(kept.OUTCOME)
    table = outcome_table(against)
    st.dataframe(table, hide_index=True, column_config=LOT_COLUMN)
    saving.table(table, name="predicted-and-measured")
