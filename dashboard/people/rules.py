"""Rules of the house that are settings: what needs two persons, and the store's first day."""

import streamlit as st

from dashboard.frame import session, signing
from dashboard.frame.escaping import marked
from dashboard.frame.words import day
from dashboard.people import words
from spc.store import Store
from spc.store.people import ALWAYS_TWO, CUT_OVER, DEEDS, NEEDS_TWO


def two_persons(store: Store) -> None:
    """Which deeds need a second person."""
    now = store.people.two_persons()
    free = sorted(set(DEEDS) - ALWAYS_TWO - {"look"})
    with st.form("two persons"):
        chosen = st.multiselect(
            "What needs two persons", free, sorted(now - ALWAYS_TWO), key="two persons"
        )
        st.caption(marked(f"{words.ALWAYS}: {', '.join(sorted(ALWAYS_TWO))}."))
        reason = st.text_input(words.REASON, key="why two")
        pressed = st.form_submit_button("Set")
    if pressed:
        signing.errand(
            "What needs two persons",
            [
                ("from now on", ", ".join(sorted(set(chosen) - now)) or "nothing more"),
                ("no longer", ", ".join(sorted(now - ALWAYS_TWO - set(chosen))) or "nothing less"),
                ("reason", reason),
            ],
            do=lambda by: store.people.set_rule(NEEDS_TWO, chosen, by=by, reason=reason),
            then=lambda _: session.tell("The rule is set."),
        )


def cut_over(store: Store) -> None:
    """The first day of this store."""
    now = store.people.first_day
    with st.form("cut-over"):
        st.markdown(
            marked(f"{words.CUT_OVER} {f'It is {day(now)}.' if now else words.NO_CUT_OVER}")
        )
        chosen = st.date_input("The store's first day", value=now or store.today())
        reason = st.text_input(words.REASON, key="why cut-over")
        pressed = st.form_submit_button("Set")
    if pressed:
        signing.errand(
            "The store's first day",
            [("from", day(chosen)), ("reason", reason)],
            do=lambda by: store.people.set_rule(CUT_OVER, chosen.isoformat(), by=by, reason=reason),
            then=lambda _: session.tell("The day is set."),
        )
