"""What was decided of a lot, and the form to decide."""

from dataclasses import asdict

import streamlit as st

from dashboard.frame import session
from dashboard.lots import blocks
from spc.acceptance import LotVerdict
from spc.answers.signed_versions import signed_versions
from spc.errors import LotHeatError
from spc.intake.decisions import DECISIONS
from spc.store import Lot, Signature, Store
from spc.store.lots.dispositions import MOVES
from spc.store.lots.judgement import fingerprint


def section(store: Store, lot: Lot, judged: LotVerdict) -> None:
    """What was decided, and the form to decide."""
    past = store.dispositions(lot.lot)
    if not past.empty:
        st.html(blocks.decisions(past, signed_versions(store, past)))
    allowed = [one for one in DECISIONS if one in MOVES[lot.decision]]
    if not allowed:
        return
    name, role = session.who()
    with st.form("decision"):
        choice = st.radio("Decision", allowed, index=None, horizontal=True)
        left, right = st.columns(2)
        by = left.text_input("Your name", value=name)
        as_role = right.selectbox("Your role", session.ROLES, index=session.ROLES.index(role))
        reason = st.text_area("Reason", placeholder="What the decision rests on")
        second = left.text_input(
            "Second person",
            help="Needed for a concession, a restriction, and to accept against a hold.",
        )
        expires = right.date_input(
            "Holds until", value=None, help="For a concession or a restriction to blend."
        )
        scope = st.text_input("Scope", help="For which use, product or quantity it holds.")
        signed = st.form_submit_button("Sign", type="primary")
    if signed:
        signature = Signature(
            decision=choice or "",
            by=by,
            role=str(as_role),
            reason=reason,
            second_person=second,
            scope=scope,
            expires_on=expires.isoformat() if expires else "",
        )
        _sign(store, lot, judged, signature)


def _sign(store: Store, lot: Lot, judged: LotVerdict, signature: Signature) -> None:
    try:
        store.dispose(lot.lot, **asdict(signature), seen=fingerprint(judged))
    except LotHeatError as problem:
        st.error(str(problem))
        return
    session.remember(signature.by, signature.role)
    session.tell(
        f"Signed: {signature.decision} by {signature.by}. The evidence shown here is in the record."
    )
    st.rerun()
