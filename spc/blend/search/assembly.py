"""A blending problem put into rows and columns."""

from collections.abc import Set as AbstractSet
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from spc.blend.problem.constraints import OPENED_FIRST, Constraint, Kept
from spc.blend.problem.problem import Problem
from spc.blend.search import lot_rows, variance_rows, window_rows
from spc.blend.search.draft import Draft, Term
from spc.blend.search.lot_rows import LotColumns
from spc.blend.search.model import Model, Spread
from spc.blend.search.window_rows import WindowColumns

Floats = NDArray[np.float64]
Aim = Literal["cost", "nearest", "oldest first", "least spread"]


def assemble(
    problem: Problem, *, aim: Aim = "cost", without: AbstractSet[Constraint] = frozenset()
) -> Model:
    """The model of a problem.

    Parameters
    ----------
    problem
        Lots, target and rules.
    aim
        What is minimised first.
    without
        Constraints that are left out.

    Returns
    -------
    Model
    """
    kept = Kept(constraints=tuple(one for one in problem.constraints() if one not in without))
    draft = Draft()
    lots = _lots(problem, kept, draft)
    windows = [
        window_rows.take_window(each, place, lots, draft)
        for place, each in enumerate(problem.mixings)
    ]
    spreads = _spreads(windows, kept, lots, draft)
    terms = _aim_terms(problem, aim, lots, windows, draft)
    variance = None
    if aim == "least spread":
        variance = variance_rows.take_variance(problem, kept, windows[0], lots, draft)
        terms.append((np.array([variance.column]), 1.0))
    cost: list[Term] = [*lots.mass(problem.price)]
    return Model(
        matrix=draft.matrix(),
        row_lower=np.concatenate(draft.row_lower),
        row_upper=np.concatenate(draft.row_upper),
        constraints=tuple(draft.constraints),
        lower=np.concatenate(draft.column_lower),
        upper=np.concatenate(draft.column_upper),
        whole=np.concatenate(draft.whole),
        aim=draft.vector(cost if aim == "cost" else terms),
        cost=draft.vector(cost),
        loose=lots.loose,
        bags=lots.bags,
        used=lots.used,
        bag=lots.bag,
        total=int(lots.total[0]),
        mean=np.concatenate([window.mean for window in windows]),
        weight=np.concatenate([window.weight for window in windows]),
        mean_row=np.array([window.mean_row for window in windows]),
        unit=np.array([window.unit for window in windows]),
        spreads=tuple(spreads),
        variance=variance,
    )


def _lots(problem: Problem, kept: Kept, draft: Draft) -> LotColumns:
    lots = lot_rows.take_lots(problem, kept, draft)
    lot_rows.batch_rows(problem, kept, lots, draft)
    lot_rows.used_rows(problem, kept, lots, draft)
    lot_rows.share_rows(problem, kept, lots, draft)
    if OPENED_FIRST in kept.constraints:
        lot_rows.opened_rows(problem, lots, draft)
    return lots


def _spreads(
    windows: list[WindowColumns], kept: Kept, lots: LotColumns, draft: Draft
) -> list[Spread]:
    spreads = []
    for window in windows:
        window_rows.limit_rows(window, kept, draft)
        odds = kept.of("odds", window.place)
        if odds is not None:
            spreads.append(window_rows.odds_rows(window, odds, lots, draft))
    return spreads


def _aim_terms(
    problem: Problem, aim: Aim, lots: LotColumns, windows: list[WindowColumns], draft: Draft
) -> list[Term]:
    """What is minimised besides a variance.

    One batch is added to an aim that may be nothing, so that a relative gap has a size to share.
    """
    terms: list[Term] = []
    if aim == "nearest":
        terms.append((lots.total, 1.0))
        for window in windows:
            terms.extend(window_rows.distance_terms(window, draft))
    elif aim == "oldest first":
        age = np.array([lot.age_days or 0.0 for lot in problem.lots])
        youth = 1.0 - age / max(float(age.max()), 1.0)
        terms.extend([(lots.total, 1.0), *lots.mass(youth)])
    return terms
