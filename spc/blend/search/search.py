"""The search for the best recipe, and the proof that no other is better by more than a gap.

Four steps.  The *relaxation*, whose bags may be broken, is solved with tangents of the odds until
it keeps them; it bounds every recipe from below.  A *core* of the lots that are cheapest to bring
in, by their reduced costs, is solved in whole bags; that gives a good recipe.  Whatever is better
than it by the gap must keep every column within (value - bound) / reduced cost, which *fixes* most
lots at nothing.  What is left is solved once more for anything better: the *proof*.  After each
solve in whole numbers the recipe found is checked as it would be weighed out, and cut off by
tangents of its own if it breaks its odds.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.blend.search.cuts import Cuts
from spc.blend.search.model import Model
from spc.blend.search.solving import Bounds, Relaxation, Stop, relaxed, stopped, whole

Floats = NDArray[np.float64]

# As a chance.  The relaxation is a bound whatever it lets pass; a recipe is not let pass anything.
RELAXED_TOLERANCE: Final = 1e-6
TOLERANCE: Final = 1e-9
CORE: Final = 30
MOST_NODES: Final = 5_000
HALVINGS: Final = 40
# Each solve is closed to a part of the gap, so that the next can close the rest.
CLOSER: Final = 0.5
# A round of the relaxation is worth that part of the gap, and lines below a variance may leave out
# that part of it.
WORTH: Final = 0.1
LEFT_OUT: Final = 0.25
# The same where no proof is wanted.
ROUGHLY: Final = 2e-3
EXACT: Final = Stop(gap=0.0, nodes=MOST_NODES)
MOST_ROUNDS: Final = 40
# Of the relaxation, where any recipe will do and its value does not matter.
FEW_ROUNDS: Final = 12
UNSETTLED: Final = "the tangents of the odds do not settle"
# Below this share of the batch nothing is weighed.
FINEST: Final = 1e-9
# What a whole number may be off in a reduced cost.
ROUNDING: Final = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Found:
    """The best point found.

    Attributes
    ----------
    point
        Values of all columns, whole ones exactly whole.
    value
        What was minimised, at the point.
    bound
        No point is better than that.
    relaxation
        Optimum with broken bags.
    """

    point: Floats
    value: float
    bound: float
    relaxation: Relaxation


@dataclass(frozen=True, slots=True, kw_only=True)
class Rounds:
    """How long tangents are added to a relaxation.

    Attributes
    ----------
    worth
        Relative rise of the value in a round that is worth another one.
    most
        Rounds.
    """

    worth: float = 0.0
    most: int = MOST_ROUNDS


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Start:
    """What is known before a search.

    Attributes
    ----------
    point : shape (columns,)
        Found unless there is one that is better by the gap.
    cuts
        Tangents known so far; they may be those of the same model with fewer rows.
    core_only
        Whether the search ends with the core, if that has a point: no proof is wanted.
    """

    point: Floats | None = None
    cuts: Cuts | None = None
    core_only: bool = False


def search(
    model: Model,
    aim: Floats,
    *,
    gap: float,
    nodes: int = MOST_NODES,
    start: Start | None = None,
) -> Found | None:
    """The best point of a model.

    Parameters
    ----------
    model
        Rows and columns.
    aim : shape (columns,)
        What is minimised; positive at every point.
    gap
        Relative distance from the optimum that need not be closed.
    nodes
        Most nodes of the tree of any one solve.
    start
        What is known beforehand.

    Returns
    -------
    Found or None
        None if no point keeps all rows; proven, not given up.

    Raises
    ------
    SearchStopped
        If neither was achieved.
    """
    return _Search(model, aim, Stop(gap=gap, nodes=nodes), start or Start()).found()


def relaxation(
    model: Model,
    cuts: Cuts,
    aim: Floats,
    *,
    tolerance: float,
    rounds: Rounds | None = None,
    enough: Callable[[Relaxation], bool] | None = None,
) -> Relaxation | None:
    """The optimum with broken bags, its odds kept to a tolerance if the tangents settle.

    Parameters
    ----------
    model, cuts
        Rows and columns; tangents are added to the cuts.
    aim : shape (columns,)
        What is minimised.
    tolerance
        By how much the odds may be missed, as a chance.
    rounds
        When to stop before the tangents settle.
    enough
        Whether a point will do as it is.

    Returns
    -------
    Relaxation or None
        None if no point keeps all rows.  Its value is a bound in any case.
    """
    stop = rounds or Rounds()
    found, before = relaxed(model, cuts, aim), -math.inf
    for _ in range(stop.most):
        if found is None or found.value - before < stop.worth * abs(found.value):
            break
        if enough is not None and enough(found):
            break
        before, shares = found.value, model.shares(found.point)
        cut = cuts.add(found.point, shares, tolerance=tolerance)
        if not cuts.count(found.point, shares) and not cut:
            break
        found = relaxed(model, cuts, aim)
    return found


class _Search:
    """One search: the model, its tangents, and the best point so far."""

    def __init__(self, model: Model, aim: Floats, stop: Stop, known: Start) -> None:
        self.model, self.aim, self.stop, self.known = model, aim, stop, known
        self.cuts = Cuts(model) if known.cuts is None else known.cuts
        self.point: Floats | None = None
        self.value = math.inf
        if known.point is not None:
            self._take(known.point)
        self.start_shares = np.zeros(model.loose.size)

    def found(self) -> Found | None:
        """The best point, by relaxation, core, fixing and proof."""
        start = self._start()
        if start is None:
            return None
        if not self.model.whole.any():
            bounds = Bounds(lower=self.model.lower, upper=self.model.upper)
            if self._weighed(start.point, bounds):
                return self._ended(start.value, start)
            if relaxed(self.model, self.cuts, self.aim) is None:
                return None
            raise stopped(UNSETTLED)
        self.cuts.drop_slack(start.dual[len(self.model.constraints) :])
        self._solve(self._only(self._core(start)), CLOSER)
        ends = self.known.core_only and self.point is not None
        if ends or self._closed(start.value):
            return self._ended(start.value, start)
        bound = self._solve(self._fixed(start), 1.0)
        if self.point is None and bound < math.inf:
            raise stopped("limit of nodes reached")
        return self._ended(max(bound, start.value), start)

    def _start(self) -> Relaxation | None:
        model, broken, worth = self.model, bool(self.model.whole.any()), 0.0
        if self.known.cuts is None:
            self.cuts.sketch()
        if broken and model.variance is not None:
            # A variance is spread over every lot there is: its lines never quite settle.
            worth = ROUGHLY if self.known.core_only else self.stop.gap * WORTH
        start = relaxation(
            model,
            self.cuts,
            self.aim,
            tolerance=RELAXED_TOLERANCE if broken else TOLERANCE,
            rounds=Rounds(
                worth=worth, most=FEW_ROUNDS if broken and self.stop.gap >= 1.0 else MOST_ROUNDS
            ),
        )
        if start is not None:
            self.start_shares = model.shares(start.point)
        return start

    def _ended(self, bound: float, start: Relaxation) -> Found | None:
        if self.point is None:
            return None
        return Found(
            point=self.point, value=self.value, bound=min(bound, self.value), relaxation=start
        )

    def _solve(self, upper: Floats, part: float) -> float:
        """The best point within these bounds that keeps its odds; returns what none is below.

        Only what is better by the gap than the best so far is looked for, to a part of the gap.
        """
        model = self.model
        bounds = Bounds(lower=model.lower, upper=upper)
        closer = Stop(gap=self.stop.gap * part * CLOSER, nodes=self.stop.nodes)
        self.cuts.prepare(self._offered(upper), self.start_shares, gap=self.stop.gap * LEFT_OUT)
        for _ in range(MOST_ROUNDS):
            wanted = self._wanted()
            tried = whole(
                model, self.cuts, self.aim, bounds=bounds, stop=closer, better_than=wanted
            )
            if tried.point is None:
                return min(tried.bound, wanted)
            rounded = np.where(model.whole, np.round(tried.point), tried.point)
            kept = self._weighed(rounded, bounds)
            cut = self.cuts.add(rounded, model.shares(rounded), tolerance=TOLERANCE)
            if self._closed(tried.bound) or (kept and (self.known.core_only or not cut)):
                return min(tried.bound, wanted)
            if not cut and not kept:
                break
        if self.point is None:
            raise stopped(UNSETTLED)
        return -math.inf

    def _weighed(self, rounded: Floats, bounds: Bounds) -> bool:
        """Weigh the loose kilograms anew beside these whole ones; whether that keeps the odds."""
        model = self.model
        exact = Bounds(
            lower=np.where(model.whole, rounded, bounds.lower),
            upper=np.where(model.whole, rounded, bounds.upper),
        )
        point = self._keeping(self.aim, exact)
        if point is None:
            return False
        if not self._kept(point):
            # Where odds are just to be had and nothing else matters, tangents close in slowly:
            # the point is drawn towards one with small deviations until it keeps them.
            inner = self._keeping(model.small_deviations(), exact)
            if inner is None or not self._kept(inner):
                return False
            point = self._drawn(point, inner)
        self._take(point)
        return True

    def _keeping(self, aim: Floats, bounds: Bounds) -> Floats | None:
        """The best point for its loose kilograms, after as many tangents as are allowed."""
        point = None
        for _ in range(MOST_ROUNDS):
            weighed = whole(
                self.model, self.cuts, aim, bounds=bounds, stop=EXACT, better_than=math.inf
            )
            point = weighed.point
            if point is None or not self.cuts.add(
                point, self.model.shares(point), tolerance=TOLERANCE
            ):
                break
        return point

    def _drawn(self, outer: Floats, inner: Floats) -> Floats:
        """The nearest point to the first, on the way to the second, that keeps the odds."""
        low, high = 0.0, 1.0
        for _ in range(HALVINGS):
            middle = (low + high) / 2.0
            kept = self._kept(outer + middle * (inner - outer))
            low, high = (low, middle) if kept else (middle, high)
        return outer + high * (inner - outer)

    def _kept(self, point: Floats) -> bool:
        shares = self.model.shares(point)
        return all(spread.keeps(shares, tolerance=TOLERANCE) for spread in self.model.spreads)

    def _take(self, point: Floats) -> None:
        """Keep a point if it is the best so far."""
        value = float(self.aim @ point)
        if value < self.value:
            self.point, self.value = point, value

    def _wanted(self) -> float:
        """The largest value that would be an improvement worth the search."""
        return self.value - self.stop.gap * abs(self.value) if self.point is not None else math.inf

    def _closed(self, bound: float) -> bool:
        return bound >= self._wanted()

    def _core(self, start: Relaxation) -> NDArray[np.int64]:
        """The lots in use, and those that are cheapest to bring in."""
        model = self.model
        cap = np.maximum(model.shares(model.upper), FINEST)
        entry = start.reduced[model.used] / cap if model.used.size else np.zeros(cap.size)
        bag = np.where(model.bag > 0.0, model.bag, np.inf)
        loose = np.where(model.upper[model.loose] > 0.0, start.reduced[model.loose], np.inf)
        price = np.minimum(loose, start.reduced[model.bags] / bag) + entry
        price[self.start_shares > 0.0] = -np.inf
        price[model.shares(model.upper) == 0.0] = np.inf
        return np.argsort(price, kind="stable")[:CORE]

    def _only(self, lots: NDArray[np.int64]) -> Floats:
        """Upper bounds that keep all other lots out."""
        others = np.ones(self.model.loose.size, dtype=np.bool_)
        others[lots] = False
        return self._without(self.model.upper, others)

    def _fixed(self, start: Relaxation) -> Floats:
        """Upper bounds that everything better than the best so far keeps, by reduced costs."""
        model, wanted = self.model, self._wanted()
        if not math.isfinite(wanted):
            return model.upper
        gain = start.reduced > 0.0
        most = np.full(model.upper.size, np.inf)
        most[gain] = model.lower[gain] + (wanted - start.value) / start.reduced[gain]
        most = np.where(model.whole, np.floor(most + ROUNDING), most)
        upper = np.minimum(model.upper, most)
        out = model.shares(upper) <= FINEST
        if model.used.size:
            out |= upper[model.used] == 0.0
        bounded = model.upper.copy()
        for columns in (model.loose, model.bags, model.used):
            bounded[columns] = upper[columns]
        return self._without(bounded, out)

    def _without(self, upper: Floats, out: NDArray[np.bool_]) -> Floats:
        bounded = upper.copy()
        for columns in self.model.of_lots():
            bounded[columns[out]] = 0.0
        return bounded

    def _offered(self, upper: Floats) -> list[int]:
        return np.flatnonzero(self.model.shares(upper) > 0.0).tolist()
