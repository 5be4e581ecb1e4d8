"""Routine lots: ticked, accepted with one secret, a record each."""

from functools import partial

import pandas as pd
import streamlit as st

from dashboard.frame import acting, seen, signing
from dashboard.frame.escaping import marked
from dashboard.today import words
from spc.store import Seen, Store
from spc.store.people import Proof, Request

_DEED = "accept a lot"


def section(store: Store, routine: pd.DataFrame) -> None:
    """Nothing where no routine lot waits."""
    if routine.empty:
        return
    saw = seen.first(routine["lot"])
    with st.expander(marked(words.ready(len(routine)))):
        ticked = [
            str(row["lot"])
            for row in routine.to_dict("records")
            if st.checkbox(marked(words.routine_lot(row)), key=f"tick-{row['lot']}")
        ]
        refused = acting.may(_DEED)
        label = words.accept(len(ticked))
        off = bool(refused) or not ticked
        if st.button(label, type="primary", disabled=off, help=refused or None):
            signing.ask(
                *(partial(_accepted, store, lot, saw[lot]) for lot in ticked),
                then=partial(seen.forget, ticked),
                refused=partial(seen.forget, ticked),
            )


def _accepted(store: Store, lot: str, saw: Seen, by: Proof) -> Request:
    return store.ask_decision(lot, "accepted", by=by, reason=words.CONFORMS, seen=saw)
