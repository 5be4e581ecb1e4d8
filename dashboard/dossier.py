"""The parts of a lot's dossier, each from the store to the screen."""

import streamlit as st

from dashboard import drawing, markup, session, tables, wording
from dashboard.figures.conformity_chart import conformity_frame
from spc.acceptance import LotVerdict
from spc.errors import LotHeatError
from spc.intake.decisions import DECISIONS
from spc.store import Lot, Store, StreamKey
from spc.store.dispositions import MOVES
from spc.store.face import fingerprint


def lines(judged: LotVerdict) -> None:
    """Each line's verdict, with its chance of conforming drawn against the limits."""
    for one in judged.lines:
        st.html(markup.line(one))
        mean = one.mean
        if mean is None or mean.uncertainty <= 0.0 or mean.value <= 0.0:
            continue
        frame = conformity_frame(
            mean.value,
            mean.uncertainty,
            log=one.line.scale == "log",
            lower=one.line.lower,
            upper=one.line.upper,
            unit=one.line.unit,
            text=wording.within(one, mean),
        )
        drawing.conformity(frame, one.line, key=f"conformity-{one.line.characteristic}")


def held(store: Store, name: str) -> None:
    """Rows that name this lot and were not taken in."""
    rows = store.held()
    mine = rows[rows["lot"] == name]
    if not mine.empty:
        st.warning(wording.held_for_lot(mine))
        st.dataframe(tables.held_table(mine), hide_index=True)


def streams(store: Store, lot: Lot) -> None:
    """The streams this lot belongs to, with the lot marked."""
    survey = store.sweep(material=lot.material, supplier=lot.supplier)
    keys = drawing.keys_of(survey, lot.lot)
    if not keys:
        st.markdown("No result of this lot can be charted yet.")
        return
    key = st.selectbox("What is charted", keys, format_func=_what)
    drawing.stream(survey, key, chosen=lot.lot, key="dossier-stream")


def evidence(store: Store, name: str) -> None:
    """Every reading, and the calculation of any of them down to its row and file."""
    results = store.results(name)
    if results.empty:
        st.markdown("No result of this lot has been received.")
        return
    st.dataframe(tables.results_table(results), hide_index=True)
    labels = dict(zip(results["result"], wording.results(results), strict=True))
    chosen = st.selectbox(
        "Open a number",
        list(labels),
        format_func=labels.__getitem__,
        index=None,
        placeholder="Choose a result to see how it was worked out",
    )
    if chosen:
        _calculation(store, chosen)


def _calculation(store: Store, chosen: str) -> None:
    result, chain, row = store.calculation(chosen)
    st.dataframe(tables.calculation_table(chain), hide_index=True)
    st.markdown(wording.origin(result))
    st.html(markup.original(row))
    file, content = store.receipt_bytes(result["receipt"])
    st.download_button("Save the original file", content, file_name=file)


def decision(store: Store, lot: Lot, judged: LotVerdict) -> None:
    """What was decided, and the form to decide."""
    past = store.dispositions(lot.lot)
    if not past.empty:
        st.html(markup.decisions(past))
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
        second = st.text_input(
            "Second person",
            help="Needed for a concession, and to accept when the evidence says hold.",
        )
        signed = st.form_submit_button("Sign", type="primary")
    if signed:
        _sign(store, lot, judged, (choice or "", by, str(as_role), reason, second))


def _sign(store: Store, lot: Lot, judged: LotVerdict, said: tuple[str, str, str, str, str]) -> None:
    choice, by, role, reason, second = said
    try:
        store.dispose(
            lot.lot,
            choice,
            by=by,
            role=role,
            reason=reason,
            second_person=second,
            seen=fingerprint(judged),
        )
    except LotHeatError as problem:
        st.error(str(problem))
        return
    session.remember(by, role)
    session.tell(f"Signed: {choice} by {by}. The evidence shown here is in the record.")
    st.rerun()


def _what(key: StreamKey) -> str:
    return f"{key.characteristic} by {key.method}"
