"""What a workbook hides, strikes through or merges: shown, and asked whether it counts."""

from dataclasses import replace

import streamlit as st

from dashboard.intake.words import marked as words
from spc.intake import Table
from spc.intake.profiles.profile import FileForm


def counting(table: Table, layout: FileForm, *, key: str) -> FileForm:
    """The layout, with what counts in it; nothing that is marked does unless a person says so."""
    told = {
        "read_hidden": (words.hidden(table.marks, table.headers), words.HIDDEN),
        "read_struck": (words.struck(table.marks, table.headers), words.STRUCK),
        "fill_merged": (words.merged(table.marks, table.headers), words.MERGED),
    }
    odd = words.odd(table.marks, table.headers)
    said = [*(sentence for sentence, _ in told.values() if sentence), *([odd] if odd else [])]
    if not said:
        return layout
    st.warning(" ".join([*said, words.WAITING]))
    return replace(
        layout,
        **{
            name: st.checkbox(question, key=f"{key}-{name}")
            for name, (sentence, question) in told.items()
            if sentence
        },
    )
