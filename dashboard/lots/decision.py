"""What was decided of a lot, and the form to decide."""

import streamlit as st

from dashboard.frame import session
from dashboard.gate import present
from dashboard.lots import blocks, words
from spc.answers.signed_versions import signed_versions
from spc.errors import LotHeatError
from spc.intake.decisions import DECISIONS
from spc.store import Lot, Seen, Store
from spc.store.lots.release import MOVES, Decision

_SEEN = "seen of "


def section(store: Store, lot: Lot) -> None:
    """What was decided, and the form to decide."""
    past = store.dispositions(lot.lot)
    if not past.empty:
        st.html(blocks.decisions(past, signed_versions(store, past)))
    allowed = [one for one in DECISIONS if one in MOVES[lot.decision]]
    if not allowed:
        return
    seen = _first_seen(store, lot.lot)
    with st.form("decision"):
        choice = st.radio("Decision", allowed, index=None, horizontal=True)
        reason = st.text_area("Reason", placeholder="What the decision rests on")
        left, right = st.columns(2)
        scope = left.text_input("Scope", help="For which use, product or quantity it holds.")
        expires = right.date_input(
            "Holds until", value=None, help="For a concession or a restriction to blend."
        )
        signed = st.form_submit_button("Sign", type="primary")
    if signed:
        decided = Decision(
            decision=choice or "",
            reason=reason,
            scope=scope,
            expires_on=expires.isoformat() if expires else "",
        )
        _sign(store, lot, decided, seen)


def _first_seen(store: Store, lot: str) -> Seen:
    """What stood on the page when the form was first shown; a click must not see more than that."""
    key = f"{_SEEN}{lot}"
    if key not in st.session_state:
        st.session_state[key] = store.seen(lot)
    found: Seen = st.session_state[key]
    return found


def _sign(store: Store, lot: Lot, decided: Decision, seen: Seen) -> None:
    try:
        done = store.dispose(
            lot.lot,
            decided.decision,
            by=present.proof(),
            reason=decided.reason,
            scope=decided.scope,
            expires_on=decided.expires_on,
            seen=seen,
        )
    except LotHeatError as problem:
        st.error(str(problem))
        # The page shows now what is new, so the next click has seen it.
        st.session_state[f"{_SEEN}{lot.lot}"] = store.seen(lot.lot)
        return
    del st.session_state[f"{_SEEN}{lot.lot}"]
    session.tell(words.signed(decided.decision, waiting=done.state == "waiting"))
    st.rerun()
