"""What was decided of a lot, what waits for a second person, and the form to decide."""

from dataclasses import asdict
from datetime import date
from functools import partial

import streamlit as st

from dashboard.frame import acting, pending, seen, signing
from dashboard.lots import blocks
from dashboard.lots import decision_words as words
from spc.acceptance import LotVerdict
from spc.answers.signed_versions import signed_versions
from spc.intake.decisions import DECISIONS
from spc.store import Lot, Store
from spc.store.lots import release
from spc.store.lots.release import LIMITED, MOVES, Decision


def section(store: Store, lot: Lot, judged: LotVerdict) -> None:
    """What was decided, what waits, and the form to decide."""
    seen.first([lot.lot])
    past = store.dispositions(lot.lot)
    if not past.empty:
        st.html(blocks.decisions(past, signed_versions(store, past)))
    pending.shown([one for one in store.signing.about(lot.lot) if one.state == "waiting"])
    allowed = [one for one in DECISIONS if one in MOVES[lot.decision]]
    if allowed:
        _decide(store, lot, judged, allowed)


def _decide(store: Store, lot: Lot, judged: LotVerdict, allowed: list[str]) -> None:
    """One click for a routine lot: decision and reason are filled in from the evidence."""
    suggested = words.suggested(judged)
    choice = st.radio(
        "Decision",
        allowed,
        index=allowed.index(suggested) if suggested in allowed else None,
        horizontal=True,
    )
    if choice is None:
        return
    if lot.decision == "on hold" and choice in release.RELEASING:
        st.warning(words.over_hold(store.dispositions(lot.lot).iloc[-1]))
    decided = _typed(lot, judged, choice)
    deed = release.deed(decided, judged, before=lot.decision)
    two = deed in store.people.two_persons()
    st.caption(words.signing(acting.actor(), two=two))
    refused = acting.may(deed)
    if st.button(
        words.BUTTONS[choice], type="primary", disabled=bool(refused), help=refused or None
    ):
        _ask(store, lot.lot, decided)


def _typed(lot: Lot, judged: LotVerdict, choice: str) -> Decision:
    reason = st.text_area(
        "Reason", value=words.reason(judged, choice), key=f"reason-{lot.lot}-{choice}"
    )
    scope, expires = "", None
    if choice in LIMITED:
        left, right = st.columns(2)
        scope = left.text_input("For which use, product or quantity", key=f"scope-{lot.lot}")
        expires = right.date_input("Holds until", value=None, key=f"until-{lot.lot}")
    return Decision(
        decision=choice,
        reason=reason,
        scope=scope,
        expires_on=expires.isoformat() if isinstance(expires, date) else "",
    )


def _ask(store: Store, lot: str, decided: Decision) -> None:
    """Open the dialog; where something is new the reason stays, and the page shows what it is."""
    saw = seen.first([lot])[lot]
    signing.ask(
        lambda by: store.ask_decision(lot, **asdict(decided), by=by, seen=saw),
        then=partial(seen.forget, [lot]),
        refused=partial(seen.forget, [lot]),
    )
