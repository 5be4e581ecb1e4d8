"""Approving what was proposed: what it changes, what that would do to lots, and the signature."""

from datetime import date

import streamlit as st

from dashboard.frame import acting, approval_words, listing, session, signing
from dashboard.frame.effect_tables import moved_table, suppliers_table
from dashboard.frame.escaping import marked
from dashboard.frame.markup import bulleted
from spc.store import Store
from spc.store.approving.asking import DEEDS_OF, Approving
from spc.store.approving.proposals import Proposal
from spc.store.catalogue.approvals import Key
from spc.store.desks.approval_desk import Look


def proposal(store: Store, one: Proposal, *, verb: str) -> None:
    """A version that waits: its changes, its effect from a day on, and the form to settle it.

    Parameters
    ----------
    verb
        On the button: approve or adopt.
    """
    named = f"{one.key.name}-{one.key.version}"
    with st.expander(marked(approval_words.waiting(one)), expanded=True):
        st.caption(marked(approval_words.proposed(one)))
        st.html(bulleted(approval_words.changes(one)))
        since = store.today() if one.from_approval_on else _since(store, one, named)
        look = _look(store.revision(), one.key, since)
        _effect(look, name=named)
        reason = st.text_area(approval_words.REASON, key=f"reason-{named}")
        refused = acting.may(DEEDS_OF[one.key.kind])
        good, bad = st.columns(2)
        turned = bad.button(
            f"Turn down version {one.key.version}",
            key=f"turn-down-{named}",
            disabled=bool(refused),
            help=refused or approval_words.TURNED,
        )
        pressed = good.button(
            f"{verb} version {one.key.version}",
            type="primary",
            key=f"approve-{named}",
            disabled=bool(refused),
            help=refused or None,
        )
    if pressed:
        seen = look.effect.fingerprint
        wanted = Approving(key=one.key, seen=seen, reason=reason, since=since)
        signing.ask(lambda by: store.approvals.ask(wanted, by=by))
    if turned:
        signing.ask(lambda by: store.approvals.ask_turning_down(one.key, reason=reason, by=by))


def _since(store: Store, one: Proposal, named: str) -> date:
    since: date = st.date_input(
        "In force from",
        value=max(one.stated_from, store.today()),
        key=f"since-{named}",
        help=approval_words.NEVER_BACK,
    )
    return since


def _effect(look: Look, *, name: str) -> None:
    """The lots that would be judged otherwise."""
    st.markdown(marked(" ".join(look.effect.sentences)))
    if look.effect.suppliers:
        st.dataframe(suppliers_table(look.effect), hide_index=True)
    if look.effect.moved:
        listing.table(moved_table(look.effect), name=f"moved-{name}")
    if look.back_dated:
        st.warning(marked(approval_words.back_dated(look.effect.since)))


@st.cache_resource(max_entries=8)
def _look(
    revision: tuple[str, int],  # noqa: ARG001 - the cache's key
    key: Key,
    since: date,
) -> Look:
    return session.store().approvals.look(key, since=since)
