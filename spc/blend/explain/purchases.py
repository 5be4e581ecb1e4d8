"""What could be bought to make a recipe possible: so many kilograms of so hot a lot.

A lot on target in everything else is added in a fixed amount, and its value of one characteristic
is left open; the least and the most it may be, bags broken, are two linear problems.  The lot is
then put into stock as it is described, and named only if there is a recipe with it.
"""

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from spc.blend.explain.conflict import Conflict, broken, possible
from spc.blend.explain.figures import rounded
from spc.blend.problem.mixing import Mixing
from spc.blend.problem.problem import Problem
from spc.blend.problem.stock import MOISTURE, Assay, StockLot
from spc.blend.problem.target import plain
from spc.blend.search.assembly import assemble
from spc.blend.search.cuts import Cuts
from spc.blend.search.model import Model
from spc.blend.search.search import RELAXED_TOLERANCE, relaxation

Floats = NDArray[np.float64]

# Of the batch, tried in turn.
AMOUNTS: Final = (0.05, 0.1, 0.2, 0.4, 0.6, 0.8)
# Beyond that many times what lies in stock, no such lot is on the market.
PLAUSIBLE: Final = 2.0
ATTEMPTS: Final = 4
STEP: Final = 0.05
# A value that may be anything is not looked for beyond this distance, in the model's units.
FARTHEST: Final = 1e7


def purchases(problem: Problem, found: Conflict) -> tuple[str, ...]:
    """Sentences that say which purchase would make a recipe possible.

    Parameters
    ----------
    problem
        One without a recipe.
    found
        Its conflict.

    Returns
    -------
    tuple of str
        One for each characteristic in the conflict, the smallest amount that would do; each was
        tried.
    """
    kinds = {one.kind for one in found.constraints}
    places = {one.place for one in found.constraints if one.kind in ("at least", "at most", "odds")}
    if not places and "stock" not in kinds:
        return ()
    sentences = (_sentence(problem, place) for place in sorted(places or {0}))
    return tuple(each for each in sentences if each)


def _sentence(problem: Problem, place: int) -> str:
    window = problem.windows[place]
    for amount in AMOUNTS:
        kilograms = math.ceil(amount * problem.batch_kg)
        for value in _values(problem, place, kilograms):
            bought = problem.with_lot(_candidate(problem, place, kilograms, value))
            if not possible(bought):
                continue
            if value == window.center:
                return f"{plain(kilograms)} kg of a lot on target would do."
            return _beyond(problem.mixings[place], kilograms, value)
    return ""


def _beyond(mixing: Mixing, kilograms: float, value: float) -> str:
    """The purchase of a lot that is hotter, or milder, than the blend."""
    window, hotter = mixing.window, value > mixing.window.center
    words = window.at_least(value) if hotter else window.at_most(value)
    end = float(mixing.value.max() if hotter else mixing.value.min())
    if (end >= window.low) if hotter else (end <= window.high):
        return f"{plain(kilograms)} kg of a lot with {words} would do."
    side = "above" if hotter else "below"
    known = window.amount(rounded(end, up=hotter))
    return (
        f"No lot on offer has {window.characteristic} {side} {known}:"
        f" {plain(kilograms)} kg of one with {words} would do."
    )


def _values(problem: Problem, place: int, kilograms: float) -> Iterator[float]:
    """Values of a lot to buy, the least unusual first; none where no likely one would do."""
    window, mixing = problem.windows[place], problem.mixings[place]
    least, most = _range(problem, place, kilograms)
    if math.isnan(least):
        return
    if least <= window.center <= most:
        yield window.center
        return
    needed, up = (least, True) if least > window.center else (most, False)
    low = float(mixing.value.min()) / PLAUSIBLE
    high = float(mixing.value.max()) * PLAUSIBLE
    for attempt in range(ATTEMPTS):
        value = rounded(needed * (1.0 + (STEP if up else -STEP) * attempt), up=up)
        if low <= value <= high:
            yield value


def _range(problem: Problem, place: int, kilograms: float) -> tuple[float, float]:
    """Least and most value of a lot of that size with which everything is kept, bags broken.

    Where odds are asked, the blend is brought to the centre of its window, where they are best.
    """
    window = problem.windows[place]
    if window.odds is not None:
        middle = replace(window, lower=window.center, upper=window.center, odds=None)
        problem = problem.with_window(place, middle)
    bought = problem.with_lot(_candidate(problem, place, kilograms, window.center))
    model = broken(assemble(bought))
    amount = kilograms / problem.batch_kg
    if model.upper[model.loose[-1]] < amount * (1.0 - 1e-9):
        return math.nan, math.nan
    lifted = _lifted(model, place, amount)
    ends = []
    for sign in (1.0, -1.0):
        aim = np.zeros(lifted.lower.size)
        aim[-1] = sign
        found = relaxation(lifted, Cuts(lifted), aim, tolerance=RELAXED_TOLERANCE)
        if found is None:
            return math.nan, math.nan
        weight = amount * float(bought.mixings[place].weight[-1])
        lift = float(found.point[-1]) * float(model.unit[place]) / weight
        ends.append(window.center + lift)
    return ends[0], ends[1]


def _lifted(model: Model, place: int, amount: float) -> Model:
    """The model with its last lot in that amount, and an open distance of it from the centre."""
    lower, upper = model.lower.copy(), model.upper.copy()
    lower[model.loose[-1]] = upper[model.loose[-1]] = amount
    entry = sparse.csr_array(
        ([1.0], ([int(model.mean_row[place])], [0])), shape=(model.matrix.shape[0], 1)
    )
    reach = amount * FARTHEST
    return replace(
        model,
        matrix=sparse.hstack((model.matrix, entry), format="csr"),
        lower=np.append(lower, -reach),
        upper=np.append(upper, reach),
        whole=np.append(model.whole, False),
    )


def _candidate(problem: Problem, place: int, kilograms: float, value: float) -> StockLot:
    """A lot to buy: on target but for one value, and known as well as those in stock."""
    assays = {
        mixing.window.characteristic: _assay(mixing, mixing.window.center)
        for mixing in problem.mixings
    }
    assays[problem.windows[place].characteristic] = _assay(problem.mixings[place], value)
    if MOISTURE not in assays:
        waters = [lot.assays[MOISTURE].value for lot in problem.lots if MOISTURE in lot.assays]
        if waters:
            assays[MOISTURE] = Assay(
                value=float(np.median(waters)),
                standard_uncertainty=0.0,
                unit="g/100 g",
                method=MOISTURE,
            )
    return StockLot(
        code="to buy",
        material="to buy",
        supplier="to buy",
        origin="to buy",
        price_per_kg=0.0,
        available_kg=kilograms,
        assays=assays,
        age_days=0.0,
        expires_in_days=math.inf,
    )


def _assay(mixing: Mixing, value: float) -> Assay:
    size = np.maximum(np.abs(mixing.value), np.finfo(np.float64).tiny)
    shared = mixing.shared.sum(axis=0)
    return Assay(
        value=value,
        standard_uncertainty=abs(value) * float(np.median(mixing.tested / size)),
        shared_uncertainty=abs(value) * float(np.median(shared / size)),
        unit=mixing.window.unit,
        basis=mixing.window.basis,
        method=mixing.methods[0],
        age_days=0.0,
    )
