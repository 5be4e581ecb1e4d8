"""What a workbook hides, strikes through or merges: shown, and asked whether it counts."""

from dataclasses import replace

import streamlit as st

from dashboard.frame.escaping import marked
from dashboard.intake.words import marked as words
from spc.intake import Table
from spc.intake.profiles.profile import FileForm


def counting(table: Table, layout: FileForm, *, key: str) -> FileForm:
    """The layout, with what counts in it; nothing that is marked does unless a person says so."""
    hidden = words.hidden(table.marks, table.headers)
    struck = words.struck(table.marks, table.headers)
    merged = words.merged(table.marks, table.headers)
    said = [hidden, struck, merged, words.odd(table.marks, table.headers)]
    if not any(said):
        return layout
    st.warning(marked(" ".join(filter(None, [*said, words.WAITING]))))
    return replace(
        layout,
        read_hidden=bool(hidden) and st.checkbox(words.HIDDEN, key=f"{key}-hidden"),
        read_struck=bool(struck) and st.checkbox(words.STRUCK, key=f"{key}-struck"),
        fill_merged=bool(merged) and st.checkbox(words.MERGED, key=f"{key}-merged"),
    )
