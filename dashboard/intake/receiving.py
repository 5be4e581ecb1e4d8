"""Files dropped: what each would become, and taking them in."""

from typing import Final

import streamlit as st

from dashboard.frame import session
from dashboard.gate import present
from dashboard.intake import sources
from dashboard.intake.tables.files import preview_held, preview_table
from dashboard.intake.words import files
from spc.errors import LotHeatError, UnknownLayout, UnreadableFile
from spc.store import Store

# Endings of what the readers read, and of catalogues and profiles.
TYPES: Final = (
    "csv",
    "tsv",
    "txt",
    "xlsx",
    "xlsm",
    "xls",
    "ods",
    "json",
    "jsonl",
    "ndjson",
    "parquet",
    "toml",
)


def delivery(store: Store) -> None:
    """Drop files, see what each would become, then take them in."""
    dropped = st.file_uploader(
        "Drop files of any source the store knows",
        accept_multiple_files=True,
        type=list(TYPES),
        key=f"files-{session.turn()}",
    )
    for file in dropped:
        _preview(store, file.name, file.getvalue())
    if not dropped:
        return
    if st.button("Take in", type="primary"):
        told = [_take(store, file.name, file.getvalue()) for file in dropped]
        session.tell("\n\n".join(told))
        session.next_turn()
        st.rerun()


def _take(store: Store, name: str, content: bytes) -> str:
    try:
        return files.receipt(store.receive_bytes(name, content, by=present.proof()))
    except LotHeatError as problem:
        return f"{name} was refused: {problem}"


def _preview(store: Store, name: str, content: bytes) -> None:
    """What a file would become; catalogues and profiles are only named."""
    if name.endswith(".toml"):
        st.markdown(f"{name}: a catalogue or a source profile; it is checked when it is taken in.")
        return
    try:
        receipt, fate = store.preview(name, content, by=present.proof())
    except (UnknownLayout, UnreadableFile) as problem:
        sources.form(store, name, content, problem)
        return
    except LotHeatError as problem:
        st.error(f"{name}: {problem}")
        return
    st.markdown(f"{files.receipt(receipt)} Nothing is stored yet.")
    if not fate.results.empty:
        st.dataframe(preview_table(fate.results.head(20)), hide_index=True)
    if not fate.held.empty:
        st.dataframe(preview_held(fate.held), hide_index=True)
