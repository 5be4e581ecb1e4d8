"""The best recipe of a problem: its first aim, and the least cost among equals."""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from spc.blend.assembly import Aim, assemble
from spc.blend.model import Model
from spc.blend.problem import Problem
from spc.blend.search import Found, search
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

# A least variance in whole bags is found soon and proven late: within 5 % of it the standard
# deviation is within 2.5 %, and the tree is cut short; the gap that is left is reported.
SPREAD_GAP: Final = 0.05
SPREAD_NODES: Final = 100


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Optimum:
    """A solved problem.

    Attributes
    ----------
    model, found
        The model, and the point found; its relaxation minimises the cost.
    value, bound
        Of the aim at the point, and what no recipe is below.
    """

    model: Model
    found: Found
    value: float
    bound: float

    @property
    def gap(self) -> float:
        """Relative distance from the optimum, at most."""
        return (self.value - self.bound) / abs(self.value) if self.value else 0.0


def optimum(problem: Problem, *, aim: Aim, gap: float) -> Optimum | None:
    """The best recipe; among those that are as good to the gap, the cheapest.

    Parameters
    ----------
    problem
        Lots, target and rules.
    aim
        What is minimised first.
    gap
        Relative distance from the optimum that need not be closed.

    Returns
    -------
    Optimum or None
        None if there is no recipe.

    Raises
    ------
    InvalidInput
        If the aim needs what the lots or the target do not have.
    SearchStopped
        If the search ended before it found or excluded a recipe.
    """
    if not 0.0 <= gap < 1.0:
        raise InvalidInput(
            f"a gap of {gap:g} is not possible.",
            where="blend",
            remedy="Give a share of the optimum, zero or more and below 1.",
        )
    _check_aim(problem, aim)
    model = assemble(problem, aim=aim)
    if aim == "least spread":
        gap = max(gap, SPREAD_GAP)
        first = search(model, model.aim, gap=gap, nodes=SPREAD_NODES)
    else:
        first = search(model, model.aim, gap=gap)
    if first is None:
        return None
    if aim == "cost":
        return Optimum(model=model, found=first, value=first.value, bound=first.bound)
    limited = _limited(model, first.value + gap * abs(first.value))
    second = search(limited, model.cost, gap=gap) or first
    value = max(float(model.aim @ second.point), first.bound)
    return Optimum(model=limited, found=second, value=value, bound=first.bound)


def _limited(model: Model, most: float) -> Model:
    """The model with its aim at most that."""
    return replace(
        model,
        matrix=sparse.vstack((model.matrix, sparse.csr_array(model.aim[None, :])), format="csr"),
        row_lower=np.append(model.row_lower, -np.inf),
        row_upper=np.append(model.row_upper, most),
        constraints=(*model.constraints, None),
    )


def _check_aim(problem: Problem, aim: Aim) -> None:
    if aim == "nearest" and all(window.target is None for window in problem.windows):
        raise InvalidInput(
            "there is no target to come near to.",
            where="blend",
            remedy="Give a target in one of the windows, or aim for the least cost.",
        )
    unknown = next((lot.code for lot in problem.lots if lot.age_days is None), None)
    if aim == "oldest first" and unknown is not None:
        raise InvalidInput(
            f"lot {unknown} has no date of receipt, but the oldest stock is to go first.",
            where="blend",
            remedy="Enter the date, or leave the lot out.",
        )
