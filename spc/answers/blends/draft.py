"""A recipe as the store keeps it, and what to expect of kilograms as they were weighed."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from spc.answers.blends.order import WEIGHING, BlendOrder
from spc.answers.blends.stock_today import heat_bias, learned_correction, stock_for
from spc.answers.specified_lines import HEAT
from spc.blend.problem.mixing import mixing
from spc.blend.problem.stock import StockLot
from spc.blend.problem.target import Window
from spc.blend.recipe import Recipe
from spc.store import Store
from spc.store.blends.drafts import Draft, Portion, Predicted


def recipe_draft(
    order: BlendOrder, found: Recipe, *, currency: str, learned: float, named: Mapping[str, str]
) -> Draft:
    """A recipe as the store keeps it.

    Parameters
    ----------
    order, found
        What was asked, and the recipe.
    currency
        Of the prices.
    learned
        Correction learnt from earlier blends that is in the heat of the lots; 0 for none.
    named
        `name` and `note`.

    Returns
    -------
    Draft
    """
    taken = found.portions
    return Draft(
        name=named["name"],
        note=named["note"],
        material=order.material,
        batch_kg=order.batch_kg,
        portions=tuple(
            Portion(
                lot=str(taken.lot[place]),
                kg=float(taken.kg[place]),
                bags=int(taken.bags[place]) if order.whole_bags else None,
            )
            for place in range(taken.lot.size)
        ),
        predicted=tuple(
            Predicted(
                characteristic=one.characteristic,
                basis=order.bases[one.characteristic],
                mean=one.mean,
                standard_deviation=one.deviation,
                learned=learned if one.characteristic == HEAT else 0.0,
            )
            for one in found.predicted
        ),
        target=order.kept(),
        odds=found.odds,
        cost=found.cost,
        currency=currency,
    )


def prediction_as_weighed(
    store: Store, planned: Draft, weighed: Mapping[str, float]
) -> tuple[Predicted, ...]:
    """What is to be expected of a blend as it was weighed in.

    Parameters
    ----------
    store
        Is read only.
    planned
        The draft on the sheet.
    weighed
        Kilograms by lot.

    Returns
    -------
    tuple of Predicted
        Empty while the kilograms are those of the sheet, or where the results of a lot cannot be
        looked at any more; then the prediction on the sheet stands.
    """
    if dict(weighed) == {one.lot: one.kg for one in planned.portions}:
        return ()
    every = store.lots()
    materials = sorted(set(every.loc[every["lot"].isin(planned.lots), "material"]))
    bases = {one.characteristic: one.basis for one in planned.predicted}
    offered = stock_for(store, materials, bases).offered
    return expected_as_weighed(
        planned,
        [lot for lot in offered if lot.code in planned.lots],
        weighed,
        learned=learned_correction(heat_bias(store)),
    )


def expected_as_weighed(
    drafted: Draft, lots: Sequence[StockLot], weighed: Mapping[str, float], *, learned: float
) -> tuple[Predicted, ...]:
    """What is to be expected of the kilograms as they were weighed.

    Parameters
    ----------
    drafted
        What was planned.
    lots
        With their results.
    weighed
        Kilograms by lot.
    learned
        Correction learnt from earlier blends that is in the heat of the lots; 0 for none.

    Returns
    -------
    tuple of Predicted
        Empty if the results of a lot cannot be looked at, or nothing was weighed; then the
        prediction on the sheet stands.
    """
    used = [lot for lot in lots if weighed.get(lot.code, 0.0) > 0.0]
    if not used or {lot.code for lot in used} != {lot for lot, kg in weighed.items() if kg > 0.0}:
        return ()
    kilograms = np.array([weighed[lot.code] for lot in used])
    found = []
    for one in drafted.predicted:
        window = Window(
            characteristic=one.characteristic,
            unit=used[0].assays[one.characteristic].unit,
            target=one.mean,
            basis="dry" if one.basis == "dry" else "as-is",
        )
        mixed = mixing(used, window, weighing=WEIGHING)
        found.append(
            replace(
                one,
                mean=mixed.mean(kilograms),
                standard_deviation=mixed.deviation(kilograms),
                learned=learned if one.characteristic == HEAT else 0.0,
            )
        )
    return tuple(found)
