"""Beyond the recipe, folded: what binds, what is unsure, cost, reach, what to buy and hold."""

from collections.abc import Callable

import pandas as pd
import streamlit as st

from dashboard.blends import pictures, planned
from dashboard.blends.tables.outlook import (
    ahead_frame,
    ahead_table,
    level_table,
    price_frame,
    price_table,
    uncertainty_table,
    worth_table,
)
from dashboard.blends.words import outlook, recipe
from dashboard.frame import saving
from dashboard.frame.escaping import marked
from spc.answers.blends.future import NextLots
from spc.answers.blends.order import BlendOrder
from spc.blend.recipe import Recipe
from spc.errors import LotHeatError


def folded(order: BlendOrder, found: Recipe | LotHeatError) -> None:
    """Everything that is looked at second."""
    if isinstance(found, Recipe):
        with st.expander("What holds the cost up"):
            _binding(order, found)
        _opened("Whose uncertainty matters", "tests", lambda: _uncertainty(order, found))
    if not planned.held(order).offered:
        return
    _opened("What surer odds cost", "odds", lambda: _at_odds(order))
    _opened("Which heat today's stock can make", "reach", lambda: _at_levels(order))
    if isinstance(found, Recipe):
        _opened("What to buy", "buying", lambda: _worth(order))
        _opened("What these suppliers can hold", "ahead", lambda: _ahead(order))


def _opened(title: str, key: str, shown: Callable[[], None]) -> None:
    """A part that is worked out when it is opened: a dozen recipes take a second or two."""
    place = st.expander(marked(title), on_change="rerun", key=f"open-{key}")
    if place.open:
        with place:
            shown()


def _at_odds(order: BlendOrder) -> None:
    prices, currency = planned.at_odds(order), planned.held(order).currency
    frame = price_frame(prices, currency=currency, percent_of=100.0)
    st.markdown(marked(outlook.at_odds(frame)))
    pictures.cost(
        frame, title="odds asked (%), cost of a kilogram upwards", log=False, key="odds-curve"
    )
    _table(price_table(prices, order, currency=currency), name="cost-at-odds")


def _at_levels(order: BlendOrder) -> None:
    prices, currency = planned.at_levels(order), planned.held(order).currency
    frame = price_frame(prices, currency=currency)
    st.markdown(marked(outlook.at_levels(frame, order)))
    title = f"heat asked ({order.unit}), cost of a kilogram upwards"
    pictures.cost(frame, title=title, log=True, key="reach-curve")
    _table(level_table(prices, order, currency=currency), name="cost-at-heat")


def _table(table: pd.DataFrame, *, name: str) -> None:
    st.dataframe(table, hide_index=True)
    saving.table(table, name=name)


def _worth(order: BlendOrder) -> None:
    worth = planned.worth(order)
    if isinstance(worth, LotHeatError):
        st.markdown(marked(recipe.no_answer(order, worth)))
        return
    st.markdown(outlook.WORTH)
    table = worth_table(worth, unit=order.unit, currency=planned.held(order).currency)
    _table(table, name="buying-brief")


def _binding(order: BlendOrder, found: Recipe) -> None:
    if found.aim != "cost":
        st.markdown(recipe.NO_PRICES)
        return
    told = recipe.binding(planned.steps(order), currency=planned.held(order).currency)
    st.markdown(marked("\n".join(f"- {one}" for one in told) or recipe.NOTHING_SAVED))
    st.caption(recipe.STEPS)


def _uncertainty(order: BlendOrder, found: Recipe) -> None:
    tests, currency = planned.tests(order), planned.held(order).currency
    st.markdown(marked(outlook.matters(found)))
    st.markdown(marked(outlook.one_more_test(found, tests, currency=currency)))
    table = uncertainty_table(found, tests, currency=currency)
    _table(table, name="uncertainty")


def _ahead(order: BlendOrder) -> None:
    every = planned.ahead(order)
    heat = every[0]
    st.markdown(marked(outlook.ahead(heat)))
    if heat.blends is not None:
        st.markdown(marked(outlook.rests_on(heat)))
        _ahead_picture(heat)
    table = ahead_table(every)
    _table(table, name="suppliers-can-hold")


def _ahead_picture(heat: NextLots) -> None:
    pictures.future(ahead_frame(heat), unit=heat.window.unit, told=outlook.ahead(heat))
    st.caption(outlook.AHEAD)
