"""A solved problem."""

from dataclasses import dataclass

from spc.blend.search.model import Model
from spc.blend.search.search import Found


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
