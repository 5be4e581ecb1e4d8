"""Why there is no recipe, and what would make one possible."""

from spc.blend.explain.conflict import conflict
from spc.blend.explain.cures import cures
from spc.blend.explain.purchases import purchases
from spc.blend.problem.problem import Problem
from spc.errors import NoRecipe


def no_recipe(problem: Problem) -> NoRecipe:
    """The error for a problem that has no recipe.

    Parameters
    ----------
    problem
        Lots, target and rules.

    Returns
    -------
    NoRecipe
        With the smallest set of constraints that conflict, and what would cure it.
    """
    found = conflict(problem)
    return NoRecipe(
        [one.text for one in found.constraints],
        [*cures(problem, found), *purchases(problem, found)],
        smallest=found.smallest,
    )
