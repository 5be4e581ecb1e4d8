"""Columns and rows of a model that speak of characteristics: limits, odds, aims."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.blend.problem.constraints import Constraint, Kept
from spc.blend.problem.mixing import Mixing
from spc.blend.search.cone import Admissible
from spc.blend.search.draft import Draft, Places, Term
from spc.blend.search.lot_rows import LotColumns
from spc.blend.search.model import Spread

Floats = NDArray[np.float64]

# The solver meets a row to 1e-6.  Means and deviations are counted in thousandths of a typical
# uncertainty, so that this is a billionth of one.
FINENESS: Final = 1e-3
# Without any uncertainty, in ten-thousandths of the range of the lots.
COARSER: Final = 1e-4
# Of the odds, known from the start; more are added where a solution breaks them.
TANGENTS: Final = 15


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WindowColumns:
    """Columns of one window.

    Attributes
    ----------
    mixing
        What each lot brings to it.
    place
        Index of the window.
    unit
        Of the distance from the centre, in the unit of the window.
    mean, weight
        Columns of the distance times the mass, and of the mass, shape (1,).
    mean_row
        Row that defines `mean`.
    """

    mixing: Mixing
    place: int
    unit: float
    mean: Places
    weight: Places
    mean_row: int


def take_window(mixing: Mixing, place: int, lots: LotColumns, draft: Draft) -> WindowColumns:
    """Columns of a window, and the rows that tie them to the lots.

    Parameters
    ----------
    mixing, place
        The window and its index.
    lots
        Columns of the lots.
    draft
        Is added to.

    Returns
    -------
    WindowColumns
    """
    unit = _unit(mixing)
    mean, weight = draft.take(-np.inf, np.inf), lots.total
    distance = mixing.weight * (mixing.value - mixing.window.center) / unit
    mean_row = draft.add(*lots.mass(distance), (mean, -1.0), lower=0.0, upper=0.0)
    if mixing.window.basis == "dry":
        weight = draft.take(0.0, np.inf)
        draft.add(*lots.mass(mixing.weight), (weight, -1.0), lower=0.0, upper=0.0)
    return WindowColumns(
        mixing=mixing, place=place, unit=unit, mean=mean, weight=weight, mean_row=mean_row
    )


def limit_rows(window: WindowColumns, kept: Kept, draft: Draft) -> None:
    """The mean lies inside its limits."""
    asked = window.mixing.window
    low, high = kept.of("at least", window.place), kept.of("at most", window.place)
    if low is not None:
        limit = (asked.low - asked.center) / window.unit
        draft.add((window.mean, 1.0), (window.weight, -limit), lower=0.0, constraint=low)
    if high is not None:
        limit = (asked.high - asked.center) / window.unit
        draft.add((window.mean, 1.0), (window.weight, -limit), upper=0.0, constraint=high)


def odds_rows(window: WindowColumns, odds: Constraint, lots: LotColumns, draft: Draft) -> Spread:
    """The odds are kept; returns the columns of the standard deviation."""
    asked = window.mixing.window
    admissible = Admissible(
        lower=(asked.low - asked.center) / window.unit,
        upper=(asked.high - asked.center) / window.unit,
        odds=asked.odds or 0.0,
    )
    spread = _spread(window, admissible, lots, draft)
    lines = admissible.tangents(TANGENTS)
    size = np.maximum(np.maximum(lines.width, np.abs(lines.slope)), 1.0)
    draft.add_each(
        (np.full(size.size, spread.column), lines.width / size),
        (np.full(size.size, spread.mean), -lines.slope / size),
        (np.full(size.size, spread.weight), -lines.intercept / size),
        upper=0.0,
        constraint=odds,
    )
    return spread


def _spread(
    window: WindowColumns, admissible: Admissible, lots: LotColumns, draft: Draft
) -> Spread:
    """Columns of a standard deviation and of its parts."""
    mixing = window.mixing
    column = draft.take(0.0, np.inf)
    parts = draft.take(0.0, np.full(lots.loose.size + len(mixing.methods), np.inf))
    draft.add((parts, 1.0), (column, -1.0), upper=0.0)
    return Spread(
        place=window.place,
        column=int(column[0]),
        mean=int(window.mean[0]),
        weight=int(window.weight[0]),
        parts=parts,
        own=mixing.weight * mixing.own / window.unit,
        shared=mixing.weight * mixing.shared / window.unit,
        away=mixing.weight * (mixing.value - mixing.window.center) / window.unit,
        counted=mixing.weight,
        admissible=admissible,
    )


def distance_terms(window: WindowColumns, draft: Draft) -> list[Term]:
    """Terms of the distance from the target, in half-widths; none without a target."""
    asked = window.mixing.window
    if asked.target is None:
        return []
    away = draft.take(0.0, np.inf)
    for sign in (1.0, -1.0):
        draft.add((away, 1.0), (window.mean, sign), lower=0.0)
    return [(away, window.unit / asked.scale)]


def _unit(mixing: Mixing) -> float:
    doubt = np.hypot(mixing.own, mixing.shared.sum(axis=0))
    if doubt.any():
        return FINENESS * float(np.median(doubt[doubt > 0.0]))
    return COARSER * (float(np.abs(mixing.value - mixing.window.center).max()) or 1.0)
