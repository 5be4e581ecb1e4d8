"""Corrections of a method: what is in force, every version, and taking one back."""

import streamlit as st

from dashboard import adoptions
from dashboard.measuring import adopting, known, listing
from dashboard.tables import methods as tabled
from dashboard.wording import methods as worded
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
    st.markdown(worded.in_force(adopted))
    if not every:
        st.markdown(
            "None has ever been adopted. One follows from a comparison with another method; look"
            " at *another method*."
        )
        return
    unit, _ = known.scale_of(stated)
    listing.table(tabled.corrections_table(every, unit=unit), name="corrections")
    adopting.withdrawal(store, stated, adopted)
