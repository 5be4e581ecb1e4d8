"""From a number to its reading, its row, the file's bytes, and who brought and mended it."""

import streamlit as st

from dashboard.frame import markup, tables, words
from spc.store import Store


def number(store: Store, result: str) -> None:
    """How a value came about, and where from."""
    one, chain, row = store.calculation(result)
    st.dataframe(tables.calculation_table(chain), hide_index=True)
    st.markdown(words.origin(one))
    st.html(markup.original(row))
    mends = store.intake.mends(one["receipt"])
    mine = mends[mends["source_row"] == one["source_row"]]
    if not mine.empty:
        st.html(markup.mended(mine, row))
    file, content = store.receipt_bytes(one["receipt"])
    st.download_button("Save the original file", content, file_name=file)
