"""What a recipe may draw from today, and what measured blends taught of its heat."""

from collections.abc import Mapping, Sequence

from spc.answers.blends.order import BlendOrder
from spc.answers.blends.stock import BlendStock, blend_stock, lot_needs
from spc.answers.specified_lines import HEAT
from spc.blend.outlook.learning import LearnedBias, learned_bias
from spc.store import Store


def stock_for_order(store: Store, order: BlendOrder) -> BlendStock:
    """The lots of a store that an order may draw from today.

    Parameters
    ----------
    store
        Is read only.
    order
        What is asked of the blend.

    Returns
    -------
    BlendStock
        Hand it to `BlendOrder.best_recipe`.
    """
    return stock_for(store, order.drawn_from, order.bases)


def stock_for(store: Store, materials: Sequence[str], basis: Mapping[str, str]) -> BlendStock:
    """The lots of a store that a recipe may draw from today, corrected by what blends taught.

    Parameters
    ----------
    store
        Is read only.
    materials
        Those that may go in.
    basis
        By characteristic that is limited, the basis of the limit; see `BlendOrder.bases`.

    Returns
    -------
    BlendStock
        Without lots of which nothing is left.
    """
    needs = lot_needs(
        store.catalogue(), materials, basis, today=store.today(), heat_bias=heat_bias(store)
    )
    return blend_stock(store.blends.stock(), needs)


def heat_bias(store: Store) -> LearnedBias:
    """What blends that were measured taught of the model's heat.

    Parameters
    ----------
    store
        Is read only.

    Returns
    -------
    LearnedBias
        Which says itself whether enough were measured.
    """
    return learned_bias(store.blends.against_measured(characteristic=HEAT))


def learned_correction(bias: LearnedBias) -> float:
    """The correction on log scale that is in the heat of the lots; 0 while it cannot be said.

    Parameters
    ----------
    bias
        From `heat_bias`.

    Returns
    -------
    float
    """
    return bias.bias if bias.can_be_said else 0.0
