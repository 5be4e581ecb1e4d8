"""Held rows mended in place: choose rows and columns, look, then mend."""

import pandas as pd
import streamlit as st

from dashboard.frame import session
from dashboard.frame.escaping import marked, plain
from dashboard.gate import present
from dashboard.intake.tables.files import preview_held, preview_table
from dashboard.intake.tables.mending import cells_table
from dashboard.intake.words import mending, sources
from spc.errors import LotHeatError
from spc.store import Store
from spc.store.files.mending import BEYOND


def form(store: Store, held: pd.DataFrame, *, key: str) -> None:
    """The part of a group of held rows in which they are mended."""
    receipt = str(held["receipt"].iloc[0])
    meanings = sources.columns(store.intake.profile_of(receipt))
    cells = cells_table(held)
    st.markdown(mending.HOW)
    st.caption(marked(f"Choose rows in the table; without a choice all {len(held)} are meant."))
    chosen = st.dataframe(cells, on_select="rerun", selection_mode="multi-row", key=f"rows-{key}")
    picked = chosen["selection"]["rows"]
    rows = cells.iloc[picked] if picked else cells
    headers = st.multiselect(
        "Columns to mend",
        sorted(cells, key=lambda header: header not in meanings),
        format_func=lambda header: sources.column(header, meanings),
        key=f"columns-{key}",
    )
    texts = {
        str(header): st.text_input(
            f"{header} of {len(rows)} rows",
            placeholder=mending.present(rows[header]),
            help=mending.LEFT_OVER if header == BEYOND else None,
            key=f"{key}-{header}",
        )
        for header in headers
    }
    if texts and all(text.strip() for header, text in texts.items() if header != BEYOND):
        _look_and_mend(store, receipt, rows.index.tolist(), texts, key=key)


def _look_and_mend(
    store: Store, receipt: str, rows: list[int], texts: dict[str, str], *, key: str
) -> None:
    try:
        looked_at, fate = store.intake.preview_mend(receipt, rows, texts)
    except LotHeatError as problem:
        st.error(plain(str(problem)))
        return
    st.markdown(plain(mending.looked_at(looked_at)))
    if not fate.results.empty:
        st.dataframe(preview_table(fate.results), hide_index=True)
    if not fate.held.empty:
        st.dataframe(preview_held(fate.held), hide_index=True)
    reason = st.text_input("How you know", key=f"reason-{key}")
    if st.button(f"Mend these {len(rows)}", type="primary", key=f"mend-{key}"):
        try:
            session.tell(
                mending.mended(
                    store.intake.mend(receipt, rows, texts, by=present.proof(), reason=reason)
                )
            )
        except LotHeatError as problem:
            st.error(plain(str(problem)))
            return
        st.rerun()
