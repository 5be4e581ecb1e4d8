"""The best recipe of a problem: its first aim, and the least cost among equals."""

from spc.blend.problem.problem import Problem
from spc.blend.search.assembly import Aim, assemble
from spc.blend.search.least_spread import least_spread
from spc.blend.search.outcome import Optimum
from spc.blend.search.search import search
from spc.errors import InvalidInput


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
    if model.variance is not None:
        return least_spread(model, model.variance, gap=gap)
    first = search(model, model.aim, gap=gap)
    if first is None:
        return None
    if aim == "cost":
        return Optimum(model=model, found=first, value=first.value, bound=first.bound)
    limited = model.limited(model.aim, first.value + gap * abs(first.value))
    second = search(limited, model.cost, gap=gap) or first
    value = max(float(model.aim @ second.point), first.bound)
    return Optimum(model=limited, found=second, value=value, bound=first.bound)


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
