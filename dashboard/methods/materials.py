"""Which material's readings to look at; the one that was read most comes first."""

import streamlit as st

from dashboard.frame import choosing
from dashboard.frame.escaping import marked
from dashboard.methods import known
from spc.intake.methods import MeasuringMethod


def chosen(stated: MeasuringMethod) -> str | None:
    """The material chosen; None, and a sentence, where nothing was read by the method."""
    readings = known.readings(stated)
    if readings.empty:
        st.markdown(marked(f"No exact reading by {stated.method} is on record yet."))
        return None
    most = str(readings["material"].mode().iloc[0])
    return choosing.one_of("Material", sorted(set(readings["material"])), key="of", first=most)
