"""What each limit costs: shadow prices of the relaxation.

Bags and numbers of lots have no prices of their own, so the prices are those of the recipe whose
bags may be broken.  They hold for a small change of one limit alone.
"""

from collections import defaultdict
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.blend.problem.constraints import Constraint
from spc.blend.problem.problem import Problem
from spc.blend.search.model import Model, Spread
from spc.blend.search.solving import Relaxation

Floats = NDArray[np.float64]

# A price that moves the cost of the batch by less than this share, over the whole of its limit, is
# rounding.
NEGLIGIBLE: Final = 1e-7
PERCENT: Final = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class ShadowPrice:
    """What a small change of one limit does to the cost of the batch.

    Attributes
    ----------
    constraint
        The limit in words; of stock, the lot.
    per_unit
        Change of the cost of the batch per unit more of the limit.
    unit
        Of the limit: that of the characteristic, ``"percentage point"``, ``"lot"`` or ``"kg"``.
    """

    constraint: str
    per_unit: float
    unit: str


def shadow_prices(
    problem: Problem, model: Model, relaxation: Relaxation
) -> tuple[ShadowPrice, ...]:
    """What each limit costs; the limits that cost nothing are left out.

    Parameters
    ----------
    problem, model
        What was solved.
    relaxation
        Its least cost with broken bags.

    Returns
    -------
    tuple of ShadowPrice
    """
    prices: dict[Constraint, float] = defaultdict(float)
    for row in np.flatnonzero(relaxation.dual[: len(model.constraints)]).tolist():
        constraint = model.constraints[row]
        if constraint is not None and constraint.kind != "odds":
            prices[constraint] += relaxation.dual[row] * _rise(
                problem, model, relaxation, constraint
            )
    for spread in model.spreads:
        _add_odds(prices, problem, model, spread, relaxation)
    size = NEGLIGIBLE * abs(float(model.cost @ relaxation.point))
    found = [
        ShadowPrice(
            constraint=one.text, per_unit=float(problem.batch_kg * price), unit=_unit(problem, one)
        )
        for one, price in prices.items()
        if abs(price) * _typical(problem, one) > size
    ]
    return (*found, *_stock_prices(problem, model, relaxation, size))


def _rise(problem: Problem, model: Model, relaxation: Relaxation, constraint: Constraint) -> float:
    """How far the bound of a row moves per unit of its limit."""
    if constraint.kind in ("at least", "at most"):
        place = constraint.place
        return float(relaxation.point[model.weight[place]] / model.unit[place])
    if constraint.kind == "share":
        return PERCENT * float(relaxation.point[model.total])
    if constraint.kind == "batch":
        return 1.0 / problem.batch_kg
    return 1.0 if constraint.kind == "most lots" else 0.0


def _add_odds(
    prices: dict[Constraint, float],
    problem: Problem,
    model: Model,
    spread: Spread,
    relaxation: Relaxation,
) -> None:
    """The odds' own price, and what moving a limit does through them."""
    shares = model.shares(relaxation.point)
    mass, deviation = spread.mass(shares), spread.deviation(shares)
    price = mass * _deviation_price(spread, relaxation)
    if price == 0.0 or deviation == 0.0:
        return
    moves = spread.admissible.boundary(spread.distance(shares) / mass, deviation / mass)
    unit = model.unit[spread.place]
    for one in problem.constraints():
        if one.place != spread.place:
            continue
        if one.kind == "odds":
            prices[one] += price * moves.per_odds * PERCENT
        elif one.kind == "at least":
            prices[one] += price * moves.per_lower / unit
        elif one.kind == "at most":
            prices[one] += price * moves.per_upper / unit


def _deviation_price(spread: Spread, relaxation: Relaxation) -> float:
    """Value of a unit more of the largest deviation that keeps the odds, by all tangents of it.

    Those are the rows that hold the deviation and the mass; the tangents of the parts hold the
    deviation and a part.
    """
    matrix = relaxation.matrix
    column = matrix[:, [spread.column]].toarray().ravel()
    parts = np.diff(matrix[:, spread.parts].tocsr().indptr)
    lines = parts == 0
    return float(relaxation.dual[lines] @ column[lines])


def _stock_prices(
    problem: Problem, model: Model, relaxation: Relaxation, size: float
) -> list[ShadowPrice]:
    """What a kilogram more of a lot would save, where all of it is used."""
    loose, bags = model.upper[model.loose], model.upper[model.bags]
    weighed = np.where(problem.loose == loose, relaxation.reduced[model.loose], 0.0)
    bag = np.where(model.bag > 0.0, model.bag, 1.0)
    bagged = np.where(problem.bags == bags, relaxation.reduced[model.bags] / bag, 0.0)
    price = np.where(model.bag > 0.0, bagged, weighed)
    return [
        ShadowPrice(
            constraint=f"lot {problem.lots[lot].code} in stock",
            per_unit=float(price[lot]),
            unit="kg",
        )
        for lot in np.flatnonzero(price < -size).tolist()
    ]


def _unit(problem: Problem, constraint: Constraint) -> str:
    if constraint.kind in ("at least", "at most"):
        return problem.windows[constraint.place].unit
    return {"batch": "kg", "most lots": "lot"}.get(constraint.kind, "percentage point")


def _typical(problem: Problem, constraint: Constraint) -> float:
    """A change of the limit that would not be called small."""
    if constraint.kind in ("at least", "at most"):
        return problem.windows[constraint.place].scale
    return problem.batch_kg if constraint.kind == "batch" else 1.0
