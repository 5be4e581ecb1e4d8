"""A table on the screen whose lots lead to their dossiers, with the buttons that save it."""

from typing import Any
from urllib.parse import unquote

import pandas as pd
import streamlit as st

from dashboard.frame import saving

_DOSSIER = "/lot?lot="


def table(frame: pd.DataFrame, *, name: str) -> None:
    """Show a table; what is saved of it names its lots plainly.

    Parameters
    ----------
    frame
        With a column ``lot`` of addresses, where it has lots.
    name
        Of the file that saves it.
    """
    columns: dict[str, Any] = {}
    plain = frame
    if "lot" in frame:
        columns["lot"] = st.column_config.LinkColumn("lot", display_text=r"lot=(.+)$")
        plain = frame.assign(lot=[unquote(one.removeprefix(_DOSSIER)) for one in frame["lot"]])
    st.dataframe(frame, hide_index=True, column_config=columns)
    saving.table(plain, name=name.replace(" ", "-"))
