"""The recipe whose first characteristic is the least uncertain, and the proof that none is less so.

Where odds are asked of the same characteristic, its standard deviation is in the model twice: as
the root of the variance, and as what the odds limit.  The root is concave and lies above each of
its chords.  Between the least variance with broken bags and the most that any recipe has, that
chord ties the deviation of the odds to the close lines of the variance; it is drawn anew as the
bound rises.  Where the variance is a ratio, each recipe found is the level for the next search.
Last, something cheaper is looked for among recipes as good; that none is cheaper is not proven.
"""

import math
from typing import Final

import numpy as np

from spc.blend.search.cuts import Cuts
from spc.blend.search.model import Model, Spread
from spc.blend.search.outcome import Optimum
from spc.blend.search.search import RELAXED_TOLERANCE, Found, Rounds, Start, relaxation, search
from spc.blend.search.variance import Variance

# Chords drawn before the search; each takes a few linear solves.
CHORDS: Final = 3
# A round of them that raises the bound by less does not matter for the next chord.
WORTH: Final = 1e-3
MOST_LEVELS: Final = 3
MOST_NODES: Final = 2_000
# The search for something cheaper.
FEW_NODES: Final = 100
# What is left of a variance for lines below it and chords of the mass, while it is limited.
UNDERSTATED: Final = 1e-4
# What the solver may round.
ROUNDING: Final = 1e-7


def least_spread(model: Model, variance: Variance, *, gap: float) -> Optimum | None:
    """The recipe of the least standard deviation; among those as good, to the gap, a cheap one.

    Parameters
    ----------
    model, variance
        Rows and columns, and the variance among them.
    gap
        Relative distance of the standard deviation from the least that need not be closed.

    Returns
    -------
    Optimum or None
        None if there is no recipe.  Its value is the standard deviation.

    Raises
    ------
    SearchStopped
        If the search ended before it found or excluded a recipe.
    """
    search_for = _LeastSpread(model, variance, gap)
    best = search_for.best()
    if best is None:
        return None
    limited, found = search_for.cheaper(best)
    value = math.sqrt(variance.of(model.shares(found.point)))
    return Optimum(
        model=limited,
        found=found,
        value=variance.unit * value,
        bound=variance.unit * min(math.sqrt(search_for.bound), value),
    )


class _LeastSpread:
    """One such search: the least variance found, and what none is below."""

    def __init__(self, model: Model, variance: Variance, gap: float) -> None:
        self.model, self.variance, self.gap = model, variance, gap
        self.bound, self.level = 0.0, math.inf
        self.beside = [each for each in model.spreads if each.place == variance.place]
        # No blend is less certain than its least certain lot, or than its odds allow.
        doubt = (variance.own + variance.shared.sum(axis=0)) / variance.counted
        widest = [each.admissible.widest * self._ratio(each) for each in self.beside]
        self.most = min([float(doubt.max()), *widest]) ** 2

    def best(self) -> Found | None:
        """The recipe of the least variance, to half of the gap."""
        cuts = Cuts(self.model)
        cuts.sketch()
        level = self._chords(cuts)
        if level is None:
            return None
        varies, best = bool(self.variance.room.size), None
        for turn in range(MOST_LEVELS if varies else 1):
            known = Start(
                point=None if best is None else best.point,
                cuts=cuts,
                # Where the mass varies the chord is a wide one until there is a recipe.
                core_only=varies and turn == 0,
            )
            aim = self.variance.aimed(self.model.aim, level)
            tied = self._tied(self.level)
            found = search(tied, aim, gap=self.gap, nodes=MOST_NODES, start=known)
            if found is None:
                return None
            self._raise(found.bound, level)
            reached = self.variance.of(self.model.shares(found.point))
            if reached < self.level:
                best, self.level = found, reached
            if self.bound >= self.level * (1.0 - self.gap):
                break
            level = self.level
        return best

    def cheaper(self, best: Found) -> tuple[Model, Found]:
        """A cheaper recipe, if one is found whose deviation is as good, to the gap."""
        most = max(self.level, (1.0 - UNDERSTATED) * self.bound / (1.0 - self.gap) ** 2)
        aim = self.variance.aimed(self.model.aim, most)
        limited = self._tied(most).limited(aim, most * self.variance.largest * (1.0 + ROUNDING))
        known = Start(point=best.point, core_only=True)
        found = search(limited, self.model.cost, gap=self.gap, nodes=FEW_NODES, start=known)
        return limited, found or best

    def _chords(self, cuts: Cuts) -> float | None:
        """Raise the bound with broken bags; returns about the least variance, None for none."""
        model, variance, level = self.model, self.variance, 0.0
        for _ in range(CHORDS):
            aim, tied = variance.aimed(model.aim, level), self._tied(self.level)
            start = relaxation(
                tied, cuts, aim, tolerance=RELAXED_TOLERANCE, rounds=Rounds(worth=WORTH)
            )
            if start is None:
                return None
            self._raise(start.value, level)
            mass = variance.mass(model.shares(start.point))
            level = float(start.point[variance.column]) / mass**2
        return level

    def _raise(self, value: float, level: float) -> None:
        self.bound = max(self.bound, (1.0 - ROUNDING) * self.variance.bound(value, level))

    def _tied(self, level: float) -> Model:
        """The model of recipes whose variance is at most a level, the deviation tied to it."""
        variance, model = self.variance, self.model
        low = math.sqrt(self.bound * variance.smallest)
        high = math.sqrt(min(level, self.most) * variance.largest)
        limit = np.zeros(model.lower.size)
        limit[variance.column] = 1.0
        model = model.limited(limit, high**2 * (1.0 + ROUNDING))
        for spread in self.beside if high > 0.0 else ():
            chord = limit / (low + high)
            chord[spread.column] = -self._ratio(spread)
            model = model.limited(chord, -low * high / (low + high))
        return model

    def _ratio(self, spread: Spread) -> float:
        """Of the unit of a deviation to that of the root of the variance."""
        return float(self.model.unit[spread.place]) / self.variance.unit
