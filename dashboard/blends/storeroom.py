"""What is in stock, and the form that records a count."""

import math

import pandas as pd
import streamlit as st

from dashboard.blends import planned
from dashboard.blends.tables.kept import moves_table, stock_table
from dashboard.blends.words import kept
from dashboard.frame import saving
from dashboard.frame.changing import done
from dashboard.frame.escaping import marked
from dashboard.frame.listing import LOT_COLUMN
from dashboard.frame.numbers import number_text, plainly, understood
from dashboard.gate import present
from spc.store import Store

_BAGS, _BAG_KG, _OPENED = "Whole bags", "kg a bag", "kg in opened bags"


def section(store: Store) -> None:
    """Lots with what is left of them; a count."""
    lots = planned.stock().lots
    st.markdown(marked(f"**{kept.stock(lots)}**"))
    wanted = st.multiselect(
        "Materials", sorted(set(lots["material"])), key="of", placeholder="All", bind="query-params"
    )
    shown = lots[lots["material"].isin(wanted)] if wanted else lots
    table = stock_table(shown)
    st.dataframe(table, hide_index=True, column_config=LOT_COLUMN)
    saving.table(table, name="stock")
    st.subheader("Record a count")
    _count(store, shown)


def _count(store: Store, lots: pd.DataFrame) -> None:
    lot = st.selectbox(
        "Lot counted",
        lots["lot"].tolist()[::-1],
        index=None,
        placeholder="Lot number",
        key="counted",
    )
    if not lot:
        return
    row = lots[lots["lot"] == lot].iloc[0]
    st.caption(marked(kept.on_the_books(row)))
    st.dataframe(moves_table(store.blends.moves(lot)), hide_index=True)
    with st.form("count"):
        first, second, third = st.columns(3)
        bags = number_text(first, _BAGS, _or(row["bags"], 0.0))
        bag_kg = number_text(second, _BAG_KG, _or(row["bag_kg"], 25.0))
        opened = number_text(third, _OPENED, _or(row["opened_kg"], 0.0))
        reason = st.text_input("Why it was counted", value="stock-take")
        wanted = st.form_submit_button("Record the count")
    if wanted:
        done(
            lambda: _counted(store, lot, (bags, bag_kg, opened), reason=reason),
            lambda told: f"The count of {lot} is recorded: {told}.",
        )


def _counted(store: Store, lot: str, typed: tuple[str, str, str], *, reason: str) -> str:
    """Record a count, and say how its numbers were understood."""
    bags = int(understood(typed[0], _BAGS, least=0, most=100_000, whole=True))
    bag_kg = understood(typed[1], _BAG_KG, least=0.0, most=5000.0)
    opened = understood(typed[2], _OPENED, least=0.0, most=5000.0)
    store.blends.count(
        lot,
        bags=bags,
        bag_kg=bag_kg,
        opened_kg=opened,
        by=present.proof(),
        reason=reason,
    )
    return f"{bags} bags of {plainly(bag_kg)} kg and {plainly(opened)} kg in opened ones"


def _or(value: float, otherwise: float) -> float:
    return otherwise if math.isnan(value) else float(value)
