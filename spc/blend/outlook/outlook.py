"""Around a recipe: what a kilogram costs at other odds, and at other levels of heat."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.blend.problem.mixing import mixing
from spc.blend.problem.problem import Problem, problem
from spc.blend.problem.rules import Rules
from spc.blend.problem.stock import StockLot
from spc.blend.problem.target import Window
from spc.blend.search.optimum import optimum
from spc.errors import InvalidInput, SearchStopped

Floats = NDArray[np.float64]

ODDS: Final = (0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.925, 0.95, 0.96, 0.97, 0.98, 0.99)
LEVELS: Final = 13
# A curve may be coarser than the recipe it stands around.
GAP: Final = 5e-3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outlook:
    """Least cost over what is asked of the first characteristic.

    Attributes
    ----------
    asked : shape (points,)
        Odds, or levels in the unit of the characteristic; rising.
    cost_per_kg : shape (points,)
        NaN where there is no recipe, or none was found in time.
    """

    asked: Floats
    cost_per_kg: Floats

    @property
    def possible(self) -> tuple[float, float]:
        """The lowest and the highest that can be made; NaN where nothing can."""
        made = self.asked[np.isfinite(self.cost_per_kg)]
        return (float(made[0]), float(made[-1])) if made.size else (math.nan, math.nan)


def frontier(
    lots: Sequence[StockLot],
    windows: Sequence[Window],
    *,
    batch_kg: float,
    rules: Rules | None = None,
    odds: Sequence[float] = ODDS,
) -> Outlook:
    """What certainty costs: the least cost at which the first window is hit with given odds.

    Parameters
    ----------
    lots, windows, batch_kg, rules
        As for `recipe`; odds that the first window states are replaced.
    odds
        To be looked at.

    Returns
    -------
    Outlook
        Over the odds.

    Raises
    ------
    InvalidInput
        If a datum is missing or not possible.
    """
    first, rest = _first(windows)
    asked = sorted(set(odds))
    return Outlook(
        asked=np.array(asked),
        cost_per_kg=np.array(
            [
                _least_cost(
                    problem(
                        lots,
                        (replace(first, odds=chance), *rest),
                        batch_kg=batch_kg,
                        rules=rules or Rules(),
                    )
                )
                for chance in asked
            ]
        ),
    )


def reach(
    lots: Sequence[StockLot],
    windows: Sequence[Window],
    *,
    batch_kg: float,
    rules: Rules | None = None,
    levels: Sequence[float] = (),
) -> Outlook:
    """Which levels of the first characteristic today's stock can make, and at what cost.

    Parameters
    ----------
    lots, batch_kg, rules
        As for `recipe`.
    windows
        The first is moved from level to level, as wide in proportion as it is.
    levels
        To be looked at; by default from the lowest lot to the highest, evenly in proportion.

    Returns
    -------
    Outlook
        Over the levels.

    Raises
    ------
    InvalidInput
        If a datum is missing or not possible, or the first window has no level above zero.
    """
    first, rest = _first(windows)
    if first.center <= 0.0:
        raise InvalidInput(
            f"a window about {first.center:g} cannot be moved in proportion.",
            where="reach",
            remedy="Ask about a characteristic with a target above zero.",
        )
    asked = sorted(set(levels)) or _between(lots, first, rest, batch_kg, rules or Rules())
    return Outlook(
        asked=np.array(asked),
        cost_per_kg=np.array(
            [
                _least_cost(
                    problem(
                        lots,
                        (_moved(first, level / first.center), *rest),
                        batch_kg=batch_kg,
                        rules=rules or Rules(),
                    )
                )
                for level in asked
            ]
        ),
    )


def _first(windows: Sequence[Window]) -> tuple[Window, Sequence[Window]]:
    if not windows:
        raise InvalidInput(
            "nothing is asked of the blend.", where="blend", remedy="Give a window for its heat."
        )
    return windows[0], windows[1:]


def _between(
    lots: Sequence[StockLot],
    first: Window,
    rest: Sequence[Window],
    batch_kg: float,
    rules: Rules,
) -> list[float]:
    offered = problem(lots, (first, *rest), batch_kg=batch_kg, rules=rules).lots
    value = mixing(offered, first, weighing=0.0).value
    return [float(each) for each in np.geomspace(value.min(), value.max(), LEVELS)]


def _moved(window: Window, factor: float) -> Window:
    lower, upper, target = (
        None if each is None else each * factor
        for each in (window.lower, window.upper, window.target)
    )
    return replace(window, lower=lower, upper=upper, target=target)


def _least_cost(asked: Problem) -> float:
    try:
        best = optimum(asked, aim="cost", gap=GAP)
    except SearchStopped:
        return math.nan
    return math.nan if best is None else best.value
