"""The parts of a lot's dossier, each from the store to the screen."""

from dataclasses import asdict
from datetime import UTC, datetime

import streamlit as st

from dashboard.frame import drawing, origins, session
from dashboard.frame import tables as frame_tables
from dashboard.lots import blocks, pictures, tables, words
from dashboard.lots.charts.conformity import conformity_frame
from dashboard.lots.paper import lot_record
from spc.acceptance import LotVerdict
from spc.answers.charted_streams import charted_stream, streams_of_lot
from spc.answers.lots import held_rows_of_lot, record_of_lot
from spc.errors import LotHeatError
from spc.intake.decisions import DECISIONS
from spc.store import Lot, Signature, Store, StreamKey
from spc.store.lots.dispositions import MOVES
from spc.store.lots.judgement import fingerprint


def lines(judged: LotVerdict) -> None:
    """Each line's verdict, with its chance of conforming drawn against the limits."""
    for one in judged.lines:
        st.html(blocks.line(one))
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
            text=words.within(one, mean),
        )
        pictures.conformity(frame, one.line, key=f"conformity-{one.line.characteristic}")


def held(store: Store, name: str) -> None:
    """Rows that name this lot and were not taken in."""
    mine = held_rows_of_lot(store, name)
    if not mine.empty:
        st.warning(words.held_for_lot(mine))
        st.dataframe(frame_tables.held_table(mine), hide_index=True)


def streams(store: Store, lot: Lot) -> None:
    """The streams this lot belongs to, with the lot marked."""
    survey = store.sweep(material=lot.material, supplier=lot.supplier)
    keys = streams_of_lot(store, survey, lot.lot)
    if not keys:
        st.markdown("No result of this lot can be charted yet.")
        return
    key = st.selectbox("What is charted", keys, format_func=_what)
    drawing.stream(charted_stream(store, survey, key), chosen=lot.lot, key="dossier-stream")


def evidence(store: Store, name: str) -> None:
    """Every reading, and the calculation of any of them down to its row and file."""
    results = store.results(name)
    if results.empty:
        st.markdown("No result of this lot has been received.")
        return
    st.dataframe(tables.results_table(results), hide_index=True)
    labels = dict(zip(results["result"], words.results(results), strict=True))
    chosen = st.selectbox(
        "Open a number",
        list(labels),
        format_func=labels.__getitem__,
        index=None,
        placeholder="Choose a result to see how it was worked out",
    )
    if chosen:
        origins.number(store, chosen)
        _void(store, chosen)


def _void(store: Store, chosen: str) -> None:
    """The form to make a result void; the result stays in the record."""
    name, _ = session.who()
    with st.expander("Make this result void"), st.form("void"):
        st.markdown(words.VOID)
        cause = st.text_input("Laboratory cause that was found")
        left, right = st.columns(2)
        by = left.text_input("Your name", value=name)
        second = right.text_input("Second person")
        signed = st.form_submit_button("Make void")
    if signed:
        try:
            store.invalidate(chosen, cause=cause, by=by, second_person=second)
        except LotHeatError as problem:
            st.error(str(problem))
            return
        session.tell("The result is void; it stays in the record with its cause.")
        st.rerun()


def void(store: Store, name: str) -> None:
    """Results that were made void, with their cause."""
    frame = store.invalidations(name)
    if not frame.empty:
        st.html(blocks.void(frame))


def attachments(store: Store, lot: str) -> None:
    """What is attached to the lot, and the place to attach more."""
    frame = store.attachments(lot)
    for row in frame.to_dict("records"):
        file, content = store.attachment_bytes(row["attachment"])
        st.download_button(words.attachment(row), content, file_name=file, key=row["attachment"])
    name, _ = session.who()
    with st.expander("Attach a file"), st.form("attachment", clear_on_submit=True):
        dropped = st.file_uploader("A certificate, a picture, a letter", max_upload_size=25)
        note = st.text_input("What it is")
        by = st.text_input("Your name", value=name)
        signed = st.form_submit_button("Attach")
    if signed and dropped is not None:
        try:
            store.attach(lot, name=dropped.name, content=dropped.getvalue(), note=note, by=by)
        except LotHeatError as problem:
            st.error(str(problem))
            return
        session.tell(f"{dropped.name} is attached.")
        st.rerun()


def record(store: Store, lot: Lot) -> None:
    """The lot's record as a PDF, made when it is asked for."""
    name, _ = session.who()
    if st.button("Make the lot record (PDF)"):
        told = record_of_lot(
            store, lot.lot, printed_by=name or "the dashboard", printed_at=datetime.now(UTC)
        )
        st.download_button(
            "Save the lot record", lot_record(told), file_name=f"{lot.lot}.pdf", type="primary"
        )


def who_did_what(store: Store, lot: str) -> None:
    """The lot's entries in the audit chain."""
    entries = store.audit(lot)
    if entries.empty:
        st.markdown("Nobody has done anything to this lot in this record yet.")
    else:
        st.dataframe(tables.audit_table(entries), hide_index=True)


def decision(store: Store, lot: Lot, judged: LotVerdict) -> None:
    """What was decided, and the form to decide."""
    past = store.dispositions(lot.lot)
    if not past.empty:
        st.html(blocks.decisions(past))
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


def _what(key: StreamKey) -> str:
    basis = f", {key.basis}" if key.basis not in ("", "as-is") else ""
    return f"{key.characteristic} by {key.method}{basis}"
