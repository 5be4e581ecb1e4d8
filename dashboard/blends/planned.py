"""Recipes worked out once for each state of the store and each order."""

import pandas as pd
import streamlit as st

from dashboard.frame import answered, session
from spc.answers.blends import future, outlook
from spc.answers.blends.future import NextLots
from spc.answers.blends.order import BlendOrder
from spc.answers.blends.outlook import KilogramPrice, LotWorth
from spc.answers.blends.stock import BlendStock, blend_stock, lot_needs
from spc.answers.specified_lines import HEAT
from spc.blend.outlook import steps as limits
from spc.blend.outlook.learning import LearnedBias, learned_bias
from spc.blend.outlook.sensitivity import OneMoreTest
from spc.blend.outlook.steps import Step
from spc.blend.recipe import Recipe
from spc.errors import LotHeatError
from spc.store.blends.stock import Stock


def stock() -> Stock:
    """Everything in stock, read once for each state of the store."""
    return _stock(session.store().revision())


def against_measured() -> pd.DataFrame:
    """What was predicted of blends that were made, against what was measured of them."""
    return _against_measured(session.store().revision())


def heat_bias() -> LearnedBias:
    """What measured blends taught of the model's heat."""
    found = against_measured()
    return learned_bias(found[found["characteristic"] == HEAT])


def held(order: BlendOrder) -> BlendStock:
    """The lots that an order may draw from."""
    return _held(session.store().revision(), order.drawn_from, tuple(order.bases.items()))


def found(order: BlendOrder) -> Recipe | LotHeatError:
    """The best recipe of an order, or why there is none."""
    return _found(session.store().revision(), order)


def at_odds(order: BlendOrder) -> list[KilogramPrice]:
    """What surer odds cost."""
    return _at_odds(session.store().revision(), order)


def at_levels(order: BlendOrder) -> list[KilogramPrice]:
    """What other levels of heat cost."""
    return _at_levels(session.store().revision(), order)


def worth(order: BlendOrder) -> list[LotWorth] | LotHeatError:
    """What lots that are not in stock would be worth, or why there is no recipe to enter."""
    return _worth(session.store().revision(), order)


def tests(order: BlendOrder) -> tuple[OneMoreTest, ...]:
    """What one more test of each lot of the recipe would buy; nothing where there is no recipe."""
    return _tests(session.store().revision(), order)


def steps(order: BlendOrder) -> tuple[Step, ...]:
    """What a step of each limit would save; nothing where there is no recipe."""
    return _steps(session.store().revision(), order)


def ahead(order: BlendOrder) -> list[NextLots]:
    """What the suppliers of the recipe can hold; nothing where there is no recipe."""
    return _ahead(session.store().revision(), order)


@st.cache_resource(max_entries=2)
def _stock(revision: tuple[str, int]) -> Stock:  # noqa: ARG001 - the cache's key
    return session.store().blends.stock()


@st.cache_resource(max_entries=2)
def _against_measured(revision: tuple[str, int]) -> pd.DataFrame:  # noqa: ARG001
    return session.store().blends.against_measured()


@st.cache_resource(max_entries=16)
def _held(
    revision: tuple[str, int],  # noqa: ARG001
    drawn_from: tuple[str, ...],
    bases: tuple[tuple[str, str], ...],
) -> BlendStock:
    store = session.store()
    needs = lot_needs(
        store.catalogue(), drawn_from, dict(bases), today=store.today(), heat_bias=heat_bias()
    )
    return blend_stock(stock(), needs)


@st.cache_resource(max_entries=128, show_spinner="Looking for the best recipe")
def _found(
    revision: tuple[str, int],  # noqa: ARG001
    order: BlendOrder,
) -> Recipe | LotHeatError:
    try:
        return order.best_recipe(held(order))
    except LotHeatError as problem:
        # An answer like any other: it says what cannot be kept, and is kept with the inputs.
        return problem


@st.cache_resource(max_entries=32, show_spinner="Working out a dozen recipes")
def _at_odds(revision: tuple[str, int], order: BlendOrder) -> list[KilogramPrice]:  # noqa: ARG001
    return outlook.cost_at_odds(order, held(order))


@st.cache_resource(max_entries=32, show_spinner="Working out a dozen recipes")
def _at_levels(revision: tuple[str, int], order: BlendOrder) -> list[KilogramPrice]:  # noqa: ARG001
    return outlook.cost_at_heats(order, held(order))


@st.cache_resource(max_entries=32, show_spinner="Working out what lots would be worth")
def _worth(
    revision: tuple[str, int],  # noqa: ARG001
    order: BlendOrder,
) -> list[LotWorth] | LotHeatError:
    try:
        return outlook.worth_of_lots(order, held(order))
    except LotHeatError as problem:
        return problem


@st.cache_resource(max_entries=32, show_spinner="Working out what one more test would buy")
def _tests(
    revision: tuple[str, int],  # noqa: ARG001
    order: BlendOrder,
) -> tuple[OneMoreTest, ...]:
    made = found(order)
    if not isinstance(made, Recipe):
        return ()
    return outlook.worth_of_tests(made)


@st.cache_resource(max_entries=32, show_spinner="Working out what a step of each limit saves")
def _steps(revision: tuple[str, int], order: BlendOrder) -> tuple[Step, ...]:  # noqa: ARG001
    made = found(order)
    return limits.steps(made) if isinstance(made, Recipe) else ()


@st.cache_resource(max_entries=32, show_spinner="Drawing the next lots")
def _ahead(revision: tuple[str, int], order: BlendOrder) -> list[NextLots]:  # noqa: ARG001
    made = found(order)
    if not isinstance(made, Recipe):
        return []
    records = future.supplier_records(session.store(), answered.survey(), heat_bias())
    return future.next_lots(order, made, records)
