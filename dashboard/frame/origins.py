"""From a number to its reading, its row, the file's bytes, and who brought and mended it."""

import streamlit as st

from dashboard.frame import markup
from dashboard.frame.escaping import marked
from dashboard.frame.tables import calculation_table
from dashboard.frame.words import origin
from spc.answers.origins import origin_of_number
from spc.store import Store


def number(store: Store, result: str) -> None:
    """How a value came about, and where from."""
    found = origin_of_number(store, result)
    st.dataframe(calculation_table(found.chain), hide_index=True)
    st.markdown(marked(origin(found.result)))
    st.html(markup.original(found.row))
    if not found.mends.empty:
        st.html(markup.mended(found.mends, found.row))
    st.download_button("Save the original file", found.content, file_name=found.file)
