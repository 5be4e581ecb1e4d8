"""What waits for a second signature, on every screen that shows it: to sign, or to decline."""

from collections.abc import Sequence

import streamlit as st

from dashboard.frame import acting, signing, signing_blocks, signing_words
from dashboard.frame.escaping import marked
from dashboard.frame.session import store, tell
from spc.errors import LotHeatError
from spc.store.people import Actor, Request
from spc.store.people.signatures import can_sign


def shown(requests: Sequence[Request]) -> None:
    """Each request that waits, with what this person can do about it."""
    if not requests:
        return
    me = acting.actor()
    for one in requests:
        with st.container(border=True):
            st.html(signing_blocks.waiting(one))
            _buttons(one, me)


def about(subject: str, *, key: str = "") -> None:
    """What was signed about a subject and still takes somebody's signature.

    Parameters
    ----------
    key
        What names the subject in the store, where others may be called the same.
    """
    asked = store().signing.about(subject)
    mine = [one for one in asked if key in ("", one.about.get("key"), one.about.get("name"))]
    shown([one for one in mine if one.state == "waiting" or one.alone])


def _buttons(one: Request, me: Actor) -> None:
    mine = can_sign(one, me)
    row = st.container(horizontal=True)
    if mine and row.button(signing_words.sign(one), key=f"sign-{one.request}", type="primary"):
        signing.show([one])
    asked = one.state == "waiting" and one.asked_by == me.person
    if not (asked or (mine and one.state == "waiting")):
        return
    label = signing_words.TAKE_BACK if asked else signing_words.DECLINE
    if row.button(label, key=f"decline-{one.request}"):
        st.dialog(label)(_decline)(one, label)


def _decline(one: Request, label: str) -> None:
    st.html(signing_blocks.waiting(one))
    reason = st.text_area(signing_words.WHY_NOT, key=f"why-not-{one.request}")
    if st.button(label, key=f"declined-{one.request}", type="primary"):
        try:
            store().signing.decline(one.request, by=acting.proof(), reason=reason)
        except LotHeatError as problem:
            st.error(marked(str(problem)))
            return
        tell(signing_words.declined(one))
        st.rerun()
