"""The buttons under a table that save it."""

from collections.abc import Mapping

import pandas as pd
import streamlit as st

from dashboard.frame.exports import CSV_TYPE, XLSX_TYPE, csv_bytes, xlsx_bytes


def table(
    frame: pd.DataFrame, *, name: str, beside: Mapping[str, pd.DataFrame] | None = None
) -> None:
    """Offer a table as CSV and as XLSX; neither is made before someone asks for it.

    Parameters
    ----------
    frame
        What is saved.
    name
        Of the file, and of the workbook's first sheet.
    beside
        Further sheets of the workbook.
    """
    place = st.container(horizontal=True)
    place.download_button(
        "Save table (CSV)",
        lambda: csv_bytes(frame),
        file_name=f"{name}.csv",
        mime=CSV_TYPE,
        key=f"{name}-csv",
        on_click="ignore",
    )
    place.download_button(
        "Save table (XLSX)" if not beside else "Save all tables (XLSX)",
        lambda: xlsx_bytes({name: frame, **(beside or {})}),
        file_name=f"{name}.xlsx",
        mime=XLSX_TYPE,
        key=f"{name}-xlsx",
        on_click="ignore",
    )
