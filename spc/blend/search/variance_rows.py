"""Columns and rows of a variance that is minimised."""

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.blend.problem.constraints import WHOLE_BAGS, Kept
from spc.blend.problem.problem import Problem
from spc.blend.search.draft import Draft, Places
from spc.blend.search.lot_rows import SMALLEST_BATCH, LotColumns
from spc.blend.search.variance import Variance
from spc.blend.search.window_rows import FINENESS, WindowColumns

Floats = NDArray[np.float64]

# The solver meets a row to 1e-6, and a dual price to 1e-7: deviations are counted in thirtieths of
# a typical uncertainty, so that a variance is some hundreds and both are some millionths of it.
PARTS: Final = 30.0
# The squared mass is right to a quarter of that, squared.
PIECE: Final = 0.01


def take_variance(
    problem: Problem, kept: Kept, window: WindowColumns, lots: LotColumns, draft: Draft
) -> Variance:
    """Columns of the variance of a window, and of its parts.

    Parameters
    ----------
    problem, kept
        The lots and rules, and which constraints are kept.
    window, lots
        Columns of the window and of the lots.
    draft
        Is added to.

    Returns
    -------
    Variance
    """
    mixing = window.mixing
    unit = window.unit / (FINENESS * PARTS)
    own = mixing.weight * mixing.own / unit
    column = draft.take(0.0, np.inf)
    parts = draft.take(0.0, np.full(own.size + len(mixing.methods), np.inf))
    draft.add((parts, 1.0), (column, -1.0), upper=0.0)
    low, high = _masses(problem, kept, mixing.weight, lots)
    return Variance(
        place=window.place,
        column=int(column[0]),
        parts=parts,
        own=own,
        counted=mixing.weight,
        shared=mixing.weight * mixing.shared / unit,
        step=own * lots.bag * float(WHOLE_BAGS in kept.constraints),
        opened=own * problem.loose,
        most=own * lots.cap,
        room=_room(window.weight, low, high, draft),
        largest=high**2,
        smallest=low**2,
        unit=unit,
    )


def _masses(problem: Problem, kept: Kept, weight: Floats, lots: LotColumns) -> tuple[float, float]:
    """The least and the most mass that the mean can refer to."""
    smallest = SMALLEST_BATCH
    if kept.of("batch") is not None:
        smallest = 1.0 - problem.rules.batch_tolerance_kg / problem.batch_kg
    return smallest * float(weight.min()), lots.largest * float(weight.max())


def _room(mass: Places, low: float, high: float, draft: Draft) -> Places:
    """What the squared mass lacks of its largest, by chords from piece to piece of its range."""
    if low == high:
        return draft.take(0.0, np.zeros(0))
    pieces = math.ceil((high - low) / (PIECE * high))
    ends = np.linspace(low, high, pieces + 1)
    room = draft.take(0.0, high**2 - low**2)
    inside = draft.take(0.0, np.full(pieces, high))
    chosen = draft.take(0.0, np.ones(pieces), whole=True)
    draft.add((chosen, 1.0), lower=1.0, upper=1.0)
    draft.add((inside, 1.0), (mass, -1.0), lower=0.0, upper=0.0)
    draft.add_each((inside, 1.0), (chosen, -ends[:-1]), lower=0.0)
    draft.add_each((inside, 1.0), (chosen, -ends[1:]), upper=0.0)
    draft.add(
        (room, 1.0),
        (inside, ends[:-1] + ends[1:]),
        (chosen, -ends[:-1] * ends[1:]),
        lower=high**2,
    )
    return room
