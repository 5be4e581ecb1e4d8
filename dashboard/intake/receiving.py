"""Files dropped: what each would become, and taking them in."""

from typing import Final

import streamlit as st

from dashboard.frame import session
from dashboard.frame.escaping import plain
from dashboard.gate import present
from dashboard.intake import sources
from dashboard.intake.tables.files import preview_held, preview_table
from dashboard.intake.words import files
from spc.errors import AmbiguousLayout, LotHeatError, UnknownLayout, UnreadableFile
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
    meant = {file.name: _preview(store, file.name, file.getvalue()) for file in dropped}
    if not dropped:
        return
    if st.button("Take in", type="primary"):
        told = [_take(store, file.name, file.getvalue(), meant[file.name]) for file in dropped]
        session.tell("\n\n".join(told))
        session.next_turn()
        st.rerun()


def _take(store: Store, name: str, content: bytes, profile: str | None) -> str:
    try:
        return files.receipt(store.receive_bytes(name, content, profile, by=present.proof()))
    except LotHeatError as problem:
        return f"{name} was refused: {problem}"


def _preview(store: Store, name: str, content: bytes) -> str | None:
    """What a file would become; catalogues and profiles are only named.

    Returns
    -------
    str or None
        The source profile that a person chose of several that fit; None where none was asked for.
    """
    if name.endswith(".toml"):
        st.markdown(
            plain(f"{name}: a catalogue or a source profile; it is checked when it is taken in.")
        )
        return None
    try:
        _shown(store, name, content, None)
    except AmbiguousLayout as doubt:
        return _chosen(store, name, content, doubt)
    except (UnknownLayout, UnreadableFile) as problem:
        sources.form(store, name, content, problem)
    except LotHeatError as problem:
        st.error(plain(f"{name}: {problem}"))
    return None


def _chosen(store: Store, name: str, content: bytes, doubt: AmbiguousLayout) -> str | None:
    """Ask which of several profiles is meant, and show what the file becomes by it."""
    profile = st.radio(
        plain(files.which_profile(name)),
        doubt.profiles,
        index=None,
        format_func=plain,
        horizontal=True,
        key=f"{name}-profile",
    )
    if profile is not None:
        try:
            _shown(store, name, content, profile)
        except LotHeatError as problem:
            st.error(plain(f"{name}: {problem}"))
    return profile


def _shown(store: Store, name: str, content: bytes, profile: str | None) -> None:
    receipt, fate = store.preview(name, content, profile, by=present.proof())
    st.markdown(plain(f"{files.receipt(receipt)} Nothing is stored yet."))
    if not fate.results.empty:
        st.dataframe(preview_table(fate.results.head(20)), hide_index=True)
    if not fate.held.empty:
        st.dataframe(preview_held(fate.held), hide_index=True)
