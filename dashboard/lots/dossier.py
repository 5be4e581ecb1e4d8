"""A lot's dossier from its verdict to its record: lines, held rows, streams, and who did what."""

from datetime import UTC, datetime

import streamlit as st

from dashboard.frame import drawing
from dashboard.frame.escaping import marked
from dashboard.frame.tables import held_table
from dashboard.gate import present
from dashboard.lots import blocks, pictures, words
from dashboard.lots.paper import lot_record
from dashboard.lots.tables import audit_table, conforming_frame
from spc.acceptance import LotVerdict
from spc.answers.charted_streams import charted_stream, streams_of_lot
from spc.answers.lots import held_rows_of_lot, record_of_lot
from spc.store import Lot, Store, StreamKey


def lines(judged: LotVerdict) -> None:
    """Each line's verdict, with its chance of conforming drawn against the limits."""
    for one in judged.lines:
        st.html(blocks.line(one))
        frame = conforming_frame(one)
        if frame is not None:
            pictures.conformity(frame, one.line, key=f"conformity-{one.line.characteristic}")


def held(store: Store, name: str) -> None:
    """Rows that name this lot and were not taken in."""
    mine = held_rows_of_lot(store, name)
    if not mine.empty:
        st.warning(marked(words.held_for_lot(mine)))
        st.dataframe(held_table(mine), hide_index=True)


def streams(store: Store, lot: Lot) -> None:
    """The streams this lot belongs to, with the lot marked."""
    survey = store.sweep(material=lot.material, supplier=lot.supplier)
    keys = streams_of_lot(store, survey, lot.lot)
    if not keys:
        st.markdown("No result of this lot can be charted yet.")
        return
    key = st.selectbox("What is charted", keys, format_func=_what)
    drawing.stream(charted_stream(store, survey, key), chosen=lot.lot, key="dossier-stream")


def record(store: Store, lot: Lot) -> None:
    """The lot's record as a PDF, made when it is asked for."""
    if st.button("Make the lot record (PDF)"):
        told = record_of_lot(
            store, lot.lot, printed_by=present.name(), printed_at=datetime.now(UTC)
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
        st.dataframe(audit_table(entries), hide_index=True)


def _what(key: StreamKey) -> str:
    basis = f", {key.basis}" if key.basis not in ("", "as-is") else ""
    return f"{key.characteristic} by {key.method}{basis}"
