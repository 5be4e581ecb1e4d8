"""Beyond the recipe, folded: what binds, whose uncertainty matters, cost, reach, what to buy."""

import pandas as pd
import streamlit as st

from dashboard import saving
from dashboard.blend_order import BlendOrder
from dashboard.blending import pictures, planned
from dashboard.tables import blends as tabled
from dashboard.wording import blends as worded
from spc.blend.recipe import Recipe
from spc.errors import LotHeatError


def folded(order: BlendOrder, found: Recipe | LotHeatError) -> None:
    """Everything that is looked at second."""
    if isinstance(found, Recipe):
        with st.expander("What holds the cost up"):
            _binding(order, found)
        with st.expander("Whose uncertainty matters"):
            _uncertainty(found)
    if not planned.held(order).offered:
        return
    # Each is worked out when it is opened: a dozen recipes take a second or two.
    odds = st.expander("What surer odds cost", on_change="rerun", key="open-odds")
    if odds.open:
        with odds:
            _at_odds(order)
    reach = st.expander("Which heat today's stock can make", on_change="rerun", key="open-reach")
    if reach.open:
        with reach:
            _at_levels(order)
    if isinstance(found, Recipe):
        buying = st.expander("What to buy", on_change="rerun", key="open-buying")
        if buying.open:
            with buying:
                _worth(order)


def _at_odds(order: BlendOrder) -> None:
    frame = tabled.price_frame(
        planned.at_odds(order), currency=planned.held(order).currency, percent_of=100.0
    )
    st.markdown(worded.at_odds(frame))
    pictures.cost(
        frame, title="odds asked (%), cost of a kilogram upwards", log=False, key="odds-curve"
    )
    _table(frame, "odds (%)", name="cost-at-odds")


def _at_levels(order: BlendOrder) -> None:
    frame = tabled.price_frame(planned.at_levels(order), currency=planned.held(order).currency)
    st.markdown(worded.at_levels(frame, order))
    title = f"heat asked ({order.unit}), cost of a kilogram upwards"
    pictures.cost(frame, title=title, log=True, key="reach-curve")
    _table(frame, f"heat ({order.unit})", name="cost-at-heat")


def _table(frame: pd.DataFrame, asked: str, *, name: str) -> None:
    table = frame[["asked", "words"]].rename(columns={"asked": asked, "words": "a kilogram costs"})
    st.dataframe(table, hide_index=True)
    saving.table(table, name=name)


def _worth(order: BlendOrder) -> None:
    st.markdown(worded.WORTH)
    table = tabled.worth_table(
        planned.worth(order), unit=order.unit, currency=planned.held(order).currency
    )
    st.dataframe(table, hide_index=True)
    saving.table(table, name="buying-brief")


def _binding(order: BlendOrder, found: Recipe) -> None:
    told = worded.binding(found.shadow_prices, currency=planned.held(order).currency)
    st.markdown("\n".join(f"- {one}" for one in told) or "No limit holds the cost up.")
    st.caption(worded.WEIGHED_OUT)


def _uncertainty(found: Recipe) -> None:
    st.markdown(worded.matters(found))
    odds = tabled.after_one_test(found)
    best = max(range(len(odds)), key=odds.__getitem__)
    lot = str(found.portions.lot[best])
    st.markdown(worded.one_more_test(lot, found.predicted[0].odds, odds[best]))
    st.dataframe(tabled.uncertainty_table(found), hide_index=True)
