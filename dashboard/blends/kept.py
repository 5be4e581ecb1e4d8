"""Blends that are kept: where they stand, what to do next, beside each other, and traced."""

from datetime import UTC, datetime

import pandas as pd
import streamlit as st

from dashboard.blends import steps
from dashboard.blends.paper import blend_sheet
from dashboard.blends.tables.kept import (
    blends_table,
    events_table,
    portions_table,
    side_by_side,
    trace_table,
)
from dashboard.blends.words import kept
from dashboard.frame import saving
from dashboard.frame.escaping import marked
from dashboard.frame.listing import LOT_COLUMN
from dashboard.gate import present
from spc.answers.blends.blend_sheets import sheet_of_blend
from spc.store import Store


def section(store: Store) -> None:
    """Every blend, one of them with its next step, several beside each other, a lot traced."""
    every = store.blends.every()
    st.markdown(marked(f"**{kept.blends(every)}**"))
    if not every.empty:
        table = blends_table(every)
        st.dataframe(table, hide_index=True)
        saving.table(table, name="blends")
        _one(store, every)
        _beside(store, every)
    _trace(store)


def _one(store: Store, every: pd.DataFrame) -> None:
    st.subheader("One blend")
    names = {row["blend"]: kept.named(row) for row in every.to_dict("records")}
    blend = st.selectbox(
        "Blend", list(names), format_func=lambda key: names[key], key="blend", bind="query-params"
    )
    if not blend:
        return
    planned = store.blends.one(blend)
    st.markdown(marked(kept.state(planned)))
    if planned.status in ("draft", "approved", "issued"):
        for sentence in store.blends.against(blend):
            st.warning(marked(sentence))
    st.dataframe(
        portions_table(store.blends.portions([blend])), hide_index=True, column_config=LOT_COLUMN
    )
    if planned.sheet:
        _sheet(store, blend, planned.sheet)
    steps.next_step(store, planned)
    with st.expander("What happened to it"):
        st.dataframe(events_table(store.blends.events(blend)), hide_index=True)


def _sheet(store: Store, blend: str, sheet: str) -> None:
    def made() -> bytes:
        return blend_sheet(
            sheet_of_blend(store, blend, printed_by=present.name(), printed_at=datetime.now(UTC))
        )

    st.download_button(
        f"Blend sheet {sheet} (PDF)",
        made,
        file_name=f"blend-sheet-{sheet}.pdf",
        mime="application/pdf",
        on_click="ignore",
    )


def _beside(store: Store, every: pd.DataFrame) -> None:
    st.subheader("Beside each other")
    names = {row["blend"]: kept.named(row) for row in every.to_dict("records")}
    chosen = st.multiselect(
        "Compare blends",
        list(names),
        format_func=lambda key: names[key],
        key="compared",
        placeholder="Two or more",
    )
    if len(chosen) > 1:
        told = side_by_side(
            every.set_index("blend", drop=False).loc[chosen],
            store.blends.portions(chosen),
            store.blends.predicted(chosen),
        )
        st.dataframe(told, hide_index=True)
        saving.table(told, name="blends-compared")


def _trace(store: Store) -> None:
    st.subheader("Where a lot went")
    lot = st.selectbox(
        "Lot",
        store.lots()["lot"].tolist()[::-1],
        index=None,
        key="traced",
        bind="query-params",
        placeholder="Lot number",
    )
    if lot:
        found = store.blends.trace(lot)
        st.markdown(marked(kept.traced(lot, found)))
        if not found.empty:
            table = trace_table(found)
            st.dataframe(table, hide_index=True, column_config=LOT_COLUMN)
            saving.table(table, name=f"trace-{lot}")
