"""The smallest set of constraints that cannot be kept together, proven so.

Of a set that can be kept, every conflict names something that was left out.  So each such set, made
as large as it gets, tells what a conflict must hit; the fewest constraints that hit all that is
known so far are a bound from below.  If they conflict, no smaller set does; if not, they are grown
to a further set that can be kept.

References
----------
Ignatiev, A., Previti, A., Liffiton, M. & Marques-Silva, J. (2015), Smallest MUS extraction with
minimal hitting set dualization, CP 2015 (from memory).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from scipy import optimize

from spc.blend.problem.constraints import Constraint
from spc.errors import SearchStopped

Some = frozenset[Constraint]

# A limit of questions and not of seconds: the same problem gives the same answer on every machine.
MOST_QUESTIONS: Final = 120
MOST_WHOLE: Final = 30


@dataclass(slots=True, kw_only=True)
class Asked:
    """Which sets can be kept, each asked once; what follows from an answer is not asked at all.

    Attributes
    ----------
    answer
        Whether a set can be kept; raises `SearchStopped` where that is not settled.
    most
        How often it may be called.
    """

    answer: Callable[[Some], bool]
    most: int
    kept: list[Some] = field(default_factory=list)
    broken: list[Some] = field(default_factory=list)
    unsettled: set[Some] = field(default_factory=set)
    questions: int = 0

    def keeps(self, some: Some) -> bool:
        """Whether a set can be kept."""
        if any(some <= each for each in self.kept):
            return True
        if any(each <= some for each in self.broken):
            return False
        if self.questions == self.most or some in self.unsettled:
            raise SearchStopped(
                f"{self.questions} questions did not settle which constraints conflict.",
                where="blend",
                remedy="Ask for less at once.",
            )
        self.questions += 1
        self.unsettled.add(some)
        possible = self.answer(some)
        self.unsettled.remove(some)
        (self.kept if possible else self.broken).append(some)
        return possible

    def surely_keeps(self, some: Some) -> bool:
        """Whether it was settled that a set can be kept."""
        try:
            return self.keeps(some)
        except SearchStopped:
            return False


def smallest(
    every: Sequence[Constraint], irreducible: Sequence[Constraint], asked: Asked
) -> tuple[tuple[Constraint, ...], bool]:
    """The smallest conflict, and whether that is proven.

    Parameters
    ----------
    every
        All constraints.
    irreducible
        Some of them that conflict, none of which can be spared.
    asked
        Which sets can be kept.

    Returns
    -------
    tuple of Constraint
        In the order of `every`; the irreducible ones where the search was not settled, or where no
        smaller set conflicts.
    bool
        Whether no smaller set conflicts.
    """
    known = frozenset(irreducible)
    asked.broken.append(known)
    try:
        # Where this is the only conflict, leaving out any one of it cures all: nothing is searched.
        missed = [
            _left_out(every, known - {one}, asked)
            for one in irreducible
            if asked.keeps(known - {one})
        ]
        while True:
            hit = _fewest(every, missed)
            if len(hit) >= len(known):
                return tuple(irreducible), True
            if not asked.keeps(hit):
                return tuple(one for one in every if one in hit), True
            missed.append(_left_out(every, hit, asked))
    except SearchStopped:
        return tuple(irreducible), False


def _left_out(every: Sequence[Constraint], kept: Some, asked: Asked) -> Some:
    """What is left out of a set that can be kept, once that is made as large as it gets."""
    return frozenset(every) - _grown(kept, [one for one in every if one not in kept], asked)


def _grown(kept: Some, more: list[Constraint], asked: Asked) -> Some:
    """A set that can be kept with as many more as go with it, halves at a time."""
    if not more or asked.surely_keeps(kept | frozenset(more)):
        return kept | frozenset(more)
    if len(more) == 1:
        return kept
    half = len(more) // 2
    return _grown(_grown(kept, more[half:], asked), more[:half], asked)


def _fewest(every: Sequence[Constraint], missed: Sequence[Some]) -> Some:
    """The fewest constraints with one in each of the sets."""
    if not missed:
        return frozenset()
    holds = np.array([[float(one in each) for one in every] for each in missed])
    found = optimize.milp(
        np.ones(len(every)),
        constraints=optimize.LinearConstraint(holds, 1.0, np.inf),
        bounds=optimize.Bounds(0.0, 1.0),
        integrality=np.ones(len(every), dtype=np.int64),
    )
    return frozenset(
        one for one, taken in zip(every, np.asarray(found.x), strict=True) if taken > 1 / 2
    )
