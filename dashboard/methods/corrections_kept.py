"""Corrections of a method: what is in force, every version, and taking one back."""

import streamlit as st

from dashboard.methods import adopting, known, listing
from dashboard.methods.tables import methods as tables_methods
from dashboard.methods.words import methods
from spc.answers import adoptions
from spc.intake.methods import MeasuringMethod
from spc.store import Store


def section(store: Store, stated: MeasuringMethod) -> None:
    """What is in force today, the versions, and the form to withdraw."""
    every = adoptions.mine(
        store.catalogue().corrections,
        method=stated.method,
        characteristic=stated.characteristic,
    )
    adopted = adoptions.newest(every, today=store.today())
    st.markdown(methods.in_force(adopted))
    if not every:
        st.markdown(
            "None has ever been adopted. One follows from a comparison with another method; look"
            " at *another method*."
        )
        return
    unit, _ = known.scale_of(stated)
    listing.table(tables_methods.corrections_table(every, unit=unit), name="corrections")
    adopting.withdrawal(store, stated, adopted)
