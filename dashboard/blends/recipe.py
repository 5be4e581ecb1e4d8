"""The recipe: what can be made today, its picture, its portions, what holds it up."""

import streamlit as st

from dashboard.blends import asking, outlook, pictures, planned
from dashboard.blends.tables.picture import picture_frame
from dashboard.blends.tables.recipe import left_out_table, predicted_table, recipe_table
from dashboard.blends.words import recipe
from dashboard.frame import saving
from dashboard.frame.changing import done
from dashboard.frame.escaping import marked
from dashboard.frame.listing import LOT_COLUMN
from dashboard.gate import present
from spc.answers.blends.draft import recipe_draft
from spc.answers.blends.order import BlendOrder
from spc.answers.blends.stock_today import learned_correction
from spc.blend.recipe import Recipe
from spc.errors import LotHeatError, NoRecipe
from spc.store import Store


def section(store: Store) -> None:
    """Ask, and see the answer at once."""
    answer = st.container()
    picture = st.container()
    stock = planned.stock()
    order = asking.order(store.catalogue().specifications, stock.lots)
    found = planned.found(order)
    with picture:
        _picture(order, found)
    if isinstance(found, Recipe):
        with answer:
            st.markdown(marked(recipe.answer(order, found, currency=planned.held(order).currency)))
        _recipe(store, order, found)
    else:
        with answer:
            _none(order, found)
    outlook.folded(order, found)
    _left_out(order)


def _none(order: BlendOrder, problem: LotHeatError) -> None:
    st.markdown(marked(recipe.no_answer(order, problem)))
    if isinstance(problem, NoRecipe):
        st.markdown(marked(recipe.cures(problem)))


def _picture(order: BlendOrder, found: Recipe | LotHeatError) -> None:
    made = found if isinstance(found, Recipe) else None
    held = planned.held(order)
    if not held.offered:
        st.markdown("No lot of this material is offered.")
        return
    frame, rows = picture_frame(order, held, made)
    told = "The stock on a heat axis" if made is None else recipe.portions(made)
    pictures.blend(frame, rows=rows, unit=order.unit, told=told)
    st.caption(recipe.PICTURE)


def _recipe(store: Store, order: BlendOrder, found: Recipe) -> None:
    currency = planned.held(order).currency
    st.subheader("The recipe")
    st.markdown(marked(recipe.summary(found, currency=currency)))
    table = recipe_table(found, currency=currency)
    st.dataframe(table, hide_index=True, column_config=LOT_COLUMN)
    predicted = predicted_table(found)
    st.dataframe(predicted, hide_index=True)
    saving.table(table, name="recipe", beside={"predicted": predicted})
    st.caption(
        marked(
            " ".join(filter(None, (recipe.learnt_in_recipe(planned.heat_bias()), recipe.RELEASE)))
        )
    )
    _keep(store, order, found, currency)


def _keep(store: Store, order: BlendOrder, found: Recipe, currency: str) -> None:
    """Save the recipe as a draft."""
    with st.form("keep", clear_on_submit=False):
        left, right = st.columns(2)
        called = left.text_input("Call it", value=f"{order.material}, {recipe.asked(order)}")
        note = right.text_input("Note")
        wanted = st.form_submit_button("Save the recipe as a draft")
    if wanted:
        draft = recipe_draft(
            order,
            found,
            currency=currency,
            learned=learned_correction(planned.heat_bias()),
            named={"name": called, "note": note},
        )
        done(
            lambda: store.blends.save(draft, by=present.proof()),
            lambda _: f"{called} is kept as a draft; look at it under “kept blends”.",
        )


def _left_out(order: BlendOrder) -> None:
    table, gone = left_out_table(planned.stock().lots, planned.held(order), order.drawn_from)
    st.subheader("Not offered")
    st.markdown(marked(recipe.left_out(len(table), gone)))
    if len(table):
        st.dataframe(table, hide_index=True, column_config=LOT_COLUMN)
    st.caption(recipe.MIXING)
