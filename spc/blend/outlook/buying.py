"""A buying brief: what a lot that is not in stock would have to cost to enter a recipe."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.blend.problem.mixing import Mixing
from spc.blend.problem.problem import Problem
from spc.blend.problem.rules import ShareLimit
from spc.blend.problem.stock import MOISTURE, Assay, StockLot
from spc.blend.recipe import DEFAULT_GAP, Recipe
from spc.blend.search.assembly import assemble
from spc.blend.search.cuts import Cuts
from spc.blend.search.search import RELAXED_TOLERANCE, relaxation, search
from spc.errors import InvalidInput, LotBarred

Floats = NDArray[np.float64]

# In ratio to the dearest lot in stock: at that price no lot is bought.
PROHIBITIVE: Final = 100.0
LEAST_SHARE: Final = 0.05
MOST_ROUNDS: Final = 12
# Of the price: closer is not worth another round.
CLOSE: Final = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class BreakEven:
    """What a lot may cost.

    Attributes
    ----------
    lot
        The candidate.
    per_kg
        Price at which the best batch with it costs as much as the recipe without; NaN if no
        recipe takes the least share of it, below zero if it is not even worth having for nothing.
    share
        Of the batch that it then makes.
    saved_at_zero
        What a batch would save if the lot cost nothing.
    """

    lot: str
    per_kg: float
    share: float
    saved_at_zero: float


def like_the_middle(made: Recipe, characteristic: str, value: float) -> StockLot:
    """A lot of some value that is like the middle of those on offer in all else.

    Parameters
    ----------
    made
        A recipe, which knows what was on offer.
    characteristic
        One of those that the recipe limits.
    value
        In the unit and on the basis of its window.

    Returns
    -------
    StockLot
        Fresh, free, and as much as the batch; the value is as uncertain, in proportion, as the
        middle one's.
    """
    lots = made.problem.lots
    assays = {each.window.characteristic: _middle(each) for each in made.problem.mixings}
    middle = assays[characteristic]
    assays[characteristic] = _scaled(middle, value / middle.value)
    if MOISTURE in lots[0].assays:
        assays.setdefault(MOISTURE, lots[0].assays[MOISTURE])
    return StockLot(
        code=f"on offer at {value:.0f}",
        material=lots[0].material,
        supplier="",
        origin="",
        price_per_kg=0.0,
        available_kg=made.problem.batch_kg,
        assays=assays,
        age_days=0.0,
        expires_in_days=made.problem.rules.shelf_life_days,
    )


def _middle(every: Mixing) -> Assay:
    """The middle of one characteristic of all lots, by the method that measured most of them."""
    measured = (every.shared > 0.0).sum(axis=1)
    return Assay(
        value=float(np.median(every.value)),
        standard_uncertainty=float(np.median(every.tested)),
        unit=every.window.unit,
        basis=every.window.basis,
        method=every.methods[int(measured.argmax())],
        shared_uncertainty=float(np.median(every.shared.max(axis=0))),
        tests=int(np.median(every.tests)),
        age_days=0.0,
    )


def _scaled(assay: Assay, factor: float) -> Assay:
    return replace(
        assay,
        value=assay.value * factor,
        standard_uncertainty=assay.standard_uncertainty * factor,
        shared_uncertainty=assay.shared_uncertainty * factor,
    )


def entry_prices(made: Recipe, candidates: Sequence[StockLot]) -> Floats:
    """Prices at which the first kilogram of each candidate would enter, bags broken.

    Parameters
    ----------
    made
        The recipe, made for the least cost.
    candidates
        Lots that are not in stock; their prices and amounts do not matter.

    Returns
    -------
    array of shape (candidates,)
        Per kilogram; a lot that is cheaper than that lowers the cost.

    Raises
    ------
    InvalidInput
        If a candidate lacks a result, or its code is in stock.
    LotBarred
        If a candidate may go into no blend.

    Notes
    -----
    The dual price of the candidate's column in the relaxation of the recipe's problem, all
    candidates in one linear problem.  It is what the first kilogram is worth: `break_even` says
    what a whole delivery is.
    """
    asked = made.problem
    dear = PROHIBITIVE * (float(asked.price.max()) or 1.0)
    for lot in candidates:
        _refuse_known(asked, lot)
        asked = asked.with_lot(replace(_offered(made, lot, dear), bag_kg=None))
    model = assemble(asked)
    found = relaxation(model, Cuts(model), model.cost, tolerance=RELAXED_TOLERANCE)
    if found is None:
        return np.full(len(candidates), math.nan)
    new = np.arange(len(asked.lots) - len(candidates), len(asked.lots))
    short = found.reduced[model.loose[new]]
    if model.used.size:
        short = short + found.reduced[model.used[new]] / model.upper[model.loose[new]]
    return np.asarray(asked.price[new] - short, dtype=np.float64)


def break_even(
    made: Recipe,
    candidate: StockLot,
    *,
    least_share: float = LEAST_SHARE,
    gap: float = DEFAULT_GAP,
) -> BreakEven:
    """The price at which a candidate is worth buying, by whole recipes.

    Parameters
    ----------
    made
        The recipe, made for the least cost.
    candidate
        A lot that is not in stock; its price does not matter.
    least_share
        Share of the batch from which a lot is worth its place.
    gap
        Relative distance from the optimum that need not be closed; the price is as good as that
        share of the batch's cost, divided by the candidate's share.

    Returns
    -------
    BreakEven

    Raises
    ------
    InvalidInput
        If the candidate lacks a result, or its code is in stock.
    LotBarred
        If it may go into no blend.
    SearchStopped
        If a search ended early.

    Notes
    -----
    The price is the largest ratio of what a recipe with the candidate saves elsewhere to the
    kilograms it takes.  Such a ratio is found by recipes at a row of prices, each the ratio of the
    recipe before it (Dinkelbach 1967, Management Science 13, 492-498); the last recipe, at the
    price that is returned, costs as much as the one without.
    """
    asked = made.problem
    _refuse_known(asked, candidate)
    limit = ShareLimit(of="lot", name=candidate.code, least=least_share)
    rules = replace(asked.rules, shares=(*asked.rules.shares, limit))
    offered = asked.with_lot(_offered(made, candidate, 0.0))
    model = assemble(replace(offered, rules=rules))
    mass = np.zeros(model.lower.size)
    mass[model.loose[-1]], mass[model.bags[-1]] = 1.0, model.bag[-1]
    without = made.cost / asked.batch_kg
    best = _Ratio(per_kg=0.0, share=0.0, saved=math.nan)
    for attempt in range(MOST_ROUNDS):
        found = search(model, model.cost + best.per_kg * mass, gap=gap)
        if found is None:
            best = replace(best, per_kg=math.nan)
            break
        taken, saved = float(mass @ found.point), without - float(model.cost @ found.point)
        ratio = saved / taken
        if attempt and ratio <= best.per_kg + CLOSE * abs(best.per_kg):
            break
        best = _Ratio(per_kg=ratio, share=taken, saved=best.saved if attempt else saved)
    return BreakEven(
        lot=candidate.code,
        per_kg=best.per_kg,
        share=best.share,
        saved_at_zero=asked.batch_kg * best.saved,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ratio:
    """What a recipe saves elsewhere, per share of the candidate that it takes."""

    per_kg: float
    share: float
    saved: float


def _offered(made: Recipe, candidate: StockLot, price: float) -> StockLot:
    """The candidate at a price, weighed out as far as a batch can take it."""
    problem = made.problem
    most = problem.batch_kg + problem.rules.batch_tolerance_kg
    if candidate.bag_kg is not None:
        most = candidate.bag_kg * math.ceil(most / candidate.bag_kg)
    return replace(candidate, price_per_kg=price, available_kg=most, opened_kg=0.0)


def _refuse_known(asked: Problem, candidate: StockLot) -> None:
    if candidate.code in {lot.code for lot in asked.lots}:
        raise InvalidInput(
            f"lot {candidate.code} is in stock already.",
            where="buying brief",
            remedy="Ask about a lot that is not, under a code of its own.",
        )
    if candidate.barred:
        raise LotBarred(candidate.code, candidate.barred)
