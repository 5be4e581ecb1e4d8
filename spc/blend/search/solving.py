"""The two solvers behind a recipe: linear with prices, and mixed-integer to a gap."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, sparse

from spc.blend.search.cuts import Cuts
from spc.blend.search.model import Model
from spc.errors import SearchStopped

Floats = NDArray[np.float64]

OPTIMAL: Final = 0
INFEASIBLE: Final = 2
UNBOUNDED: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Relaxation:
    """The optimum of a model whose whole numbers may be broken.

    Attributes
    ----------
    point, value
        The optimum, and what is minimised there.
    dual : shape (rows,)
        Change of the value per unit of the bound of each row, tangents after the model's rows.
    reduced : shape (columns,)
        Change of the value per unit of each column.
    matrix
        Model's rows and tangents.
    """

    point: Floats
    value: float
    dual: Floats
    reduced: Floats
    matrix: sparse.csr_array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bounds:
    """Bounds of the columns, shape (columns,)."""

    lower: Floats
    upper: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """When a solver of whole numbers may stop.

    Attributes
    ----------
    gap
        Relative distance from the optimum.
    nodes
        Of its tree.  A limit of nodes and not of seconds: the same problem gives the same recipe
        on every machine.
    """

    gap: float
    nodes: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Whole:
    """What a mixed-integer solve came to.

    Attributes
    ----------
    point
        The best solution; None if none was found.
    bound
        No solution is better; infinite if there is none at all.
    """

    point: Floats | None
    bound: float


def relaxed(model: Model, cuts: Cuts, aim: Floats) -> Relaxation | None:
    """The linear optimum.

    Parameters
    ----------
    model, cuts
        Rows, columns and tangents.
    aim : shape (columns,)
        What is minimised.

    Returns
    -------
    Relaxation or None
        None if no point keeps all rows.

    Raises
    ------
    SearchStopped
        If the solver gives up.
    """
    matrix, low, high = _stacked(model, cuts)
    equal = low == high
    above, below = np.isfinite(low) & ~equal, np.isfinite(high) & ~equal
    found = optimize.linprog(
        aim,
        A_ub=sparse.vstack((matrix[below], -matrix[above]), format="csr"),
        b_ub=np.concatenate((high[below], -low[above])),
        A_eq=matrix[equal],
        b_eq=low[equal],
        bounds=list(zip(model.lower.tolist(), model.upper.tolist(), strict=True)),
        method="highs",
    )
    if found.status == INFEASIBLE:
        return None
    if found.status != OPTIMAL:
        raise stopped(found.message)
    point, dual = np.asarray(found.x, dtype=np.float64), np.zeros(low.size)
    dual[equal] = found.eqlin.marginals
    parted = np.split(np.asarray(found.ineqlin.marginals), [int(below.sum())])
    dual[below] += parted[0]
    dual[above] -= parted[1]
    return Relaxation(
        point=point,
        value=float(aim @ point),
        dual=dual,
        reduced=aim - matrix.T @ dual,
        matrix=matrix,
    )


def whole(
    model: Model, cuts: Cuts, aim: Floats, *, bounds: Bounds, stop: Stop, better_than: float
) -> Whole:
    """The mixed-integer optimum.

    Parameters
    ----------
    model, cuts
        Rows, columns and tangents.
    aim : shape (columns,)
        What is minimised.
    bounds
        Of the columns, within those of the model; columns held at 0 are dropped.
    stop
        When the solver may stop.
    better_than
        Largest value of interest.

    Returns
    -------
    Whole
    """
    matrix, low, high = _stacked(model, cuts)
    if math.isfinite(better_than):
        matrix = sparse.vstack((matrix, sparse.csr_array(aim[None, :])), format="csr")
        low, high = np.append(low, -np.inf), np.append(high, better_than)
    kept = (bounds.upper != 0.0) | (bounds.lower != 0.0)
    narrow = matrix[:, kept]
    filled = np.diff(narrow.indptr) > 0
    if np.any((low[~filled] > 0.0) | (high[~filled] < 0.0)):
        return Whole(point=None, bound=math.inf)
    found = optimize.milp(
        aim[kept],
        constraints=optimize.LinearConstraint(narrow[filled], low[filled], high[filled]),
        bounds=optimize.Bounds(bounds.lower[kept], bounds.upper[kept]),
        integrality=model.whole[kept].astype(np.int64),
        options={"mip_rel_gap": stop.gap, "node_limit": stop.nodes},
    )
    if found.status == INFEASIBLE:
        return Whole(point=None, bound=math.inf)
    if found.status == UNBOUNDED:
        raise stopped(found.message)
    # Of the other ways to end, a limit of nodes is one: what was found by then stands.
    # Without whole numbers the optimum is its own bound.
    proven = found.mip_dual_bound if model.whole[kept].any() else found.fun
    bound = -math.inf if proven is None else float(proven)
    if found.x is None:
        return Whole(point=None, bound=bound)
    point = np.zeros(model.lower.size)
    point[kept] = found.x
    return Whole(point=point, bound=bound)


def _stacked(model: Model, cuts: Cuts) -> tuple[sparse.csr_array, Floats, Floats]:
    tangents, lower = cuts.matrix()
    return (
        sparse.vstack((model.matrix, tangents), format="csr"),
        np.concatenate((model.row_lower, lower)),
        np.concatenate((model.row_upper, np.full(lower.size, np.inf))),
    )


def stopped(message: str) -> SearchStopped:
    """The error for a solver that gave up."""
    return SearchStopped(
        f"the optimisation stopped early ({message.strip().rstrip('.')}).",
        where="blend",
        remedy="Allow a larger gap, fewer lots on offer, or wider limits.",
    )
