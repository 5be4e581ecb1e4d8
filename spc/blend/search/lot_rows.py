"""Columns and rows of a model that speak of kilograms: stock, bags, shares, number of lots."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.blend.problem.constraints import OPENED_FIRST, STOCK, WHOLE_BAGS, Constraint, Kept
from spc.blend.problem.problem import Problem
from spc.blend.search.draft import Draft, Places, Term

Floats = NDArray[np.float64]

# A batch that may be smaller than asked for still holds something.
SMALLEST_BATCH: Final = 1e-2
# A hair below a whole bag is that bag.
WHOLE: Final = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LotColumns:
    """Columns of the lots and of the batch, all masses as shares of the batch asked for.

    Attributes
    ----------
    loose, bags : shape (lots,)
        Columns of what is weighed out, and of the number of whole bags.
    used : shape (lots,) or (0,)
        Columns that say whether a lot is used; none where that does not matter.
    bag : shape (lots,)
        Share of a whole bag.
    cap : shape (lots,)
        Most of each lot.
    total
        Column of the size of the batch, shape (1,).
    largest
        Most it may be.
    """

    loose: Places
    bags: Places
    used: Places
    bag: Floats
    cap: Floats
    total: Places
    largest: float

    def mass(self, per_share: Floats | float) -> tuple[Term, Term]:
        """Terms of a sum over all lots, in proportion to their share."""
        each = np.broadcast_to(np.asarray(per_share, dtype=np.float64), self.bag.shape)
        return (self.loose, each), (self.bags, each * self.bag)

    def every(self) -> tuple[Term, Term]:
        """Terms of the share of each lot, for a row a lot."""
        return (self.loose, 1.0), (self.bags, self.bag)


def take_lots(problem: Problem, kept: Kept, draft: Draft) -> LotColumns:
    """Columns of the lots and of the batch.

    Parameters
    ----------
    problem, kept
        The lots and rules, and which constraints are kept.
    draft
        Is added to.

    Returns
    -------
    LotColumns
    """
    largest = 1.0 + problem.rules.batch_tolerance_kg / problem.batch_kg
    bag, most = problem.bag, np.full(len(problem.lots), largest)
    if kept.of("each lot") is not None:
        most *= problem.rules.each_most
    for kind in ("shelf life", "result age"):
        if kept.of(kind) is not None:
            most[problem.aged(kind)] = 0.0
    weighed, stocked = bag == 0.0, STOCK in kept.constraints
    amount = problem.loose if stocked else np.where(weighed, largest, problem.loose)
    loose = np.minimum(amount, most)
    fits = np.where(weighed, 0.0, most / np.where(weighed, 1.0, bag))
    whole = WHOLE_BAGS in kept.constraints
    fits = np.floor(fits + WHOLE) if whole else fits
    fits = np.minimum(fits, problem.bags) if stocked else fits
    cap = np.minimum(loose + bag * fits, most)
    counted = kept.of("most lots") is not None or _least(problem, kept) > 0.0
    return LotColumns(
        loose=draft.take(0.0, loose),
        bags=draft.take(0.0, fits, whole=whole),
        used=draft.take(0.0, np.sign(cap) if counted else np.zeros(0), whole=True),
        bag=bag,
        cap=cap,
        total=draft.take(SMALLEST_BATCH, largest),
        largest=largest,
    )


def batch_rows(problem: Problem, kept: Kept, lots: LotColumns, draft: Draft) -> None:
    """The batch is the sum of its lots, and not too small."""
    draft.add(*lots.mass(1.0), (lots.total, -1.0), lower=0.0, upper=0.0)
    batch = kept.of("batch")
    if batch is not None:
        smallest = 1.0 - problem.rules.batch_tolerance_kg / problem.batch_kg
        draft.add((lots.total, 1.0), lower=smallest, constraint=batch)


def opened_rows(problem: Problem, lots: LotColumns, draft: Draft) -> None:
    """A whole bag of a lot is started only when its opened bag is used up."""
    opened = np.flatnonzero((lots.bag > 0.0) & (problem.loose > 0.0))
    if not opened.size:
        return
    started = draft.take(0.0, np.ones(opened.size), whole=True)
    most = np.floor(lots.cap[opened] / lots.bag[opened] + WHOLE)
    draft.add_each((lots.bags[opened], 1.0), (started, -most), upper=0.0, constraint=OPENED_FIRST)
    draft.add_each(
        (lots.loose[opened], 1.0),
        (started, -problem.loose[opened]),
        lower=0.0,
        constraint=OPENED_FIRST,
    )


def used_rows(problem: Problem, kept: Kept, lots: LotColumns, draft: Draft) -> None:
    """How many lots are used, and how much of each at least."""
    if not lots.used.size:
        return
    draft.add_each(*lots.every(), (lots.used, -lots.cap), upper=0.0)
    counted = kept.of("most lots")
    if counted is not None and problem.rules.most_lots is not None:
        most = float(problem.rules.most_lots)
        draft.add((lots.used, 1.0), upper=most, constraint=counted)
    least = _least(problem, kept)
    if least > 0.0:
        # At least its share of the batch, unless it is not used at all.
        slack = least * lots.largest
        draft.add_each(
            *lots.every(),
            (lots.total, -least),
            (lots.used, -slack),
            lower=-slack,
            constraint=kept.of("each lot"),
        )


def share_rows(problem: Problem, kept: Kept, lots: LotColumns, draft: Draft) -> None:
    """Least and most shares of suppliers, origins, materials and single lots."""
    each = kept.of("each lot")
    if each is not None and lots.largest > 1.0:
        most = problem.rules.each_most
        draft.add_each(*lots.every(), (lots.total, -most), upper=0.0, constraint=each)
    for place, limit in enumerate(problem.rules.shares):
        constraint = kept.of("share", place)
        if constraint is not None:
            mass = lots.mass(problem.members(limit).astype(np.float64))
            _share(draft, mass, lots.total, (limit.least, limit.most), constraint)


def _share(
    draft: Draft,
    mass: tuple[Term, Term],
    total: Places,
    shares: tuple[float, float],
    constraint: Constraint,
) -> None:
    least, most = shares
    if least > 0.0:
        draft.add(*mass, (total, -least), lower=0.0, constraint=constraint)
    if most < 1.0:
        draft.add(*mass, (total, -most), upper=0.0, constraint=constraint)


def _least(problem: Problem, kept: Kept) -> float:
    return problem.rules.each_least if kept.of("each lot") is not None else 0.0
