"""What was decided of a lot, what waits for a second person, and the form to decide."""

from collections.abc import Callable, Hashable, Mapping, Sequence
from datetime import date
from functools import partial
from typing import Any

import streamlit as st

from dashboard.frame import acting, pending, seen, signing
from dashboard.frame.escaping import marked
from dashboard.lots import blocks
from dashboard.lots import decision_words as words
from spc.acceptance import LotVerdict
from spc.answers.signed_versions import signed_versions
from spc.intake.decisions import DECISIONS
from spc.store import Lot, Store
from spc.store.lots import release
from spc.store.lots.release import LIMITED, MOVES, Decision
from spc.store.people import Request


def section(store: Store, lot: Lot, judged: LotVerdict) -> None:
    """What was decided, what waits, the form to decide, and the one to correct."""
    seen.first([lot.lot])
    past, asked = store.dispositions(lot.lot), store.signing.about(lot.lot)
    if not past.empty:
        st.html(blocks.decisions(past, signed_versions(store, past), asked))
    pending.shown([one for one in asked if one.state == "waiting"])
    allowed = [one for one in DECISIONS if one in MOVES[lot.decision]]
    if allowed:
        _decide(store, lot, judged, allowed)
    if not past.empty:
        with st.expander(words.WRONG):
            _correct(store, lot, past.iloc[-1].to_dict())


def _decide(store: Store, lot: Lot, judged: LotVerdict, allowed: Sequence[str]) -> None:
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
        st.warning(marked(words.over_hold(store.dispositions(lot.lot).iloc[-1].to_dict())))
    decided = _typed(lot, choice, words.reason(judged, choice), form="decide")
    deed = release.deed(decided, judged, before=lot.decision)
    if _pressed(store, words.BUTTONS[choice], deed):
        _sign(lot.lot, partial(store.ask_decision, lot.lot, choice), decided)


def _correct(store: Store, lot: Lot, wrong: Mapping[Hashable, Any]) -> None:
    """What should stand in the place of the decision that counts."""
    st.markdown(words.CORRECTED)
    others = [one for one in DECISIONS if one != wrong["decision"]]
    choice = st.radio(words.INSTEAD, others, index=None, horizontal=True)
    if choice is None:
        return
    drawn = store.blends.drawn(lot.lot)
    if drawn and choice not in release.RELEASING:
        st.warning(marked(words.drawn(drawn)))
    decided = _typed(lot, choice, "", form="correct")
    if _pressed(store, words.CORRECT, release.CORRECTING):
        _sign(lot.lot, partial(store.ask_correction, wrong["disposition"], choice), decided)


def _typed(lot: Lot, choice: str, suggested: str, *, form: str) -> Decision:
    key = f"{form}-{lot.lot}-{choice}"
    reason = st.text_area("Reason", value=suggested, key=f"reason-{key}")
    scope, expires = "", None
    if choice in LIMITED:
        left, right = st.columns(2)
        scope = left.text_input("For which use, product or quantity", key=f"scope-{key}")
        expires = right.date_input("Holds until", value=None, key=f"until-{key}")
    return Decision(
        decision=choice,
        reason=reason,
        scope=scope,
        expires_on=expires.isoformat() if isinstance(expires, date) else "",
    )


def _pressed(store: Store, label: str, deed: str) -> bool:
    """The button that opens the dialog; dead, with who may, for who may not."""
    two = deed in store.people.two_persons()
    refused = acting.may(deed) or None
    st.caption(marked(refused or words.signing(acting.actor(), two=two)))
    return st.button(label, type="primary", disabled=bool(refused), help=refused)


def _sign(lot: str, ask: Callable[..., Request], decided: Decision) -> None:
    """Open the dialog; where something is new the reason stays, and the page shows what it is."""
    told = {
        "reason": decided.reason,
        "scope": decided.scope,
        "expires_on": decided.expires_on,
        "seen": seen.first([lot])[lot],
    }
    signing.ask(
        lambda by: ask(by=by, **told),
        then=partial(_empty, lot),
        refused=partial(seen.forget, [lot]),
    )


def _empty(lot: str) -> None:
    """What was typed is signed, and is not to be signed again by a second click."""
    seen.forget([lot])
    for key in [one for one in st.session_state if f"-{lot}-" in str(one)]:
        del st.session_state[key]
