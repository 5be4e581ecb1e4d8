"""A table on the screen whose lots lead to their dossiers, with the buttons that save it."""

from collections.abc import Mapping
from typing import Any, Final

import pandas as pd
import streamlit as st

from dashboard.frame import saving
from dashboard.frame.lot_addresses import by_number

# For the column of a table that holds the addresses of lots.
LOT_COLUMN: Final[Mapping[str, Any]] = {
    "lot": st.column_config.LinkColumn("lot", display_text=r"lot=(.+)$")
}


def table(frame: pd.DataFrame, *, name: str) -> None:
    """Show a table; what is saved of it names its lots plainly.

    Parameters
    ----------
    frame
        With a column ``lot`` of addresses, where it has lots.
    name
        Of the file that saves it.
    """
    linked = "lot" in frame
    st.dataframe(frame, hide_index=True, column_config=LOT_COLUMN if linked else None)
    saving.table(by_number(frame) if linked else frame, name=name.replace(" ", "-"))
