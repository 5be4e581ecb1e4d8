"""Corrections of a method: what is in force, every version, and taking one back."""

import streamlit as st

from dashboard.frame import approval_words, approving, listing
from dashboard.frame.escaping import marked, plain
from dashboard.methods import adopting, known
from dashboard.methods.tables.corrections import corrections_table
from dashboard.methods.words import corrections
from spc.answers.methods import corrections_of_method
from spc.intake.methods import MeasuringMethod
from spc.store import Store


def section(store: Store, stated: MeasuringMethod) -> None:
    """What is in force today, what waits, the versions, and the form to withdraw."""
    kept = corrections_of_method(store, stated)
    st.markdown(marked(corrections.in_force(kept.in_force)))
    for one in kept.waiting:
        approving.proposal(store, one, verb="Adopt")
    for old in kept.turned_down:
        st.caption(plain(f"{old.name}, version {old.version}, {approval_words.turned_down(old)}"))
    if not kept.versions:
        st.markdown(
            "None has ever been adopted. One follows from a comparison with another method; look"
            " at *another method*."
        )
        return
    unit = known.scale_of(stated).unit
    listing.table(corrections_table(kept.versions, unit=unit), name="corrections")
    adopting.withdrawal(store, stated, kept.in_force)
