"""A blending problem as a mixed-integer linear model.

All masses are shares of the batch that was asked for.  Of each lot there is a column for what is
weighed out and one for the number of whole bags; where lots are counted or have a least share, one
that says whether the lot is used.  Each window has a column for the blend's distance from the
centre and one for the mass it refers to; each window with odds has one for the standard deviation,
and one for the part of every lot and method in it.  Those are tied to the lots by tangents, which
`cuts` adds as they are needed.

The parts are what makes few tangents enough: s² is the sum of (u x)², so with a part r of each lot,
s is at least the sum of the parts, and r s at least (u x)², which bends in two dimensions only
(Vielma, Dunning, Huchette & Lubin 2017, Mathematical Programming Computation 9, 369-418).
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from spc.blend.problem.constraints import Constraint
from spc.blend.search.cone import Admissible
from spc.blend.search.draft import Places
from spc.blend.search.variance import Variance

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spread:
    """The columns of one standard deviation.

    Attributes
    ----------
    place
        Index of the window.
    column, mean, weight
        Columns of the deviation, of the distance from the centre and of the mass.
    parts : shape (lots + methods,)
        Column of each part.
    own : shape (lots,)
        What a share of a lot adds to its part.
    away, counted : shape (lots,)
        What a share of a lot adds to the distance from the centre, and to the mass.
    shared : shape (methods, lots)
        What a share of a lot adds to each method's part.
    admissible
        Pairs that keep the odds.
    """

    place: int
    column: int
    mean: int
    weight: int
    parts: Places
    own: Floats
    shared: Floats
    away: Floats
    counted: Floats
    admissible: Admissible

    def largest(self, batch: float) -> float:
        """Most that the deviation times the mass can be in a batch of at most that size."""
        doubt = self.own + self.shared.sum(axis=0)
        return batch * min(self.admissible.widest * float(self.counted.max()), float(doubt.max()))

    def distance(self, shares: Floats) -> float:
        """Distance of the blend's mean from the centre, times the mass."""
        return float(shares @ self.away)

    def mass(self, shares: Floats) -> float:
        """Mass that the mean refers to."""
        return float(shares @ self.counted)

    def keeps(self, shares: Floats, *, tolerance: float) -> bool:
        """Whether shares keep the odds, to a chance."""
        mass = self.mass(shares)
        chance = self.admissible.chance(self.distance(shares) / mass, self.deviation(shares) / mass)
        return chance >= self.admissible.odds - tolerance

    def deviation(self, shares: Floats) -> float:
        """Standard deviation of the blend's mean, times the mass."""
        return float(np.linalg.norm(self.coordinates(shares)))

    def coordinates(self, shares: Floats) -> Floats:
        """Of each part, what is squared in it, shape (lots + methods,)."""
        return np.concatenate((self.own * shares, self.shared @ shares))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Model:
    """Rows, columns, and what they stand for.

    Attributes
    ----------
    matrix, row_lower, row_upper, constraints
        Rows: coefficients, bounds, and what each one keeps; None for a definition.
    lower, upper, whole
        Bounds of the columns, and which hold whole numbers.
    aim, cost
        Coefficients of what is minimised first, and of the cost per kilogram of batch.
    loose, bags : shape (lots,)
        Columns of each lot.
    used : shape (lots,) or (0,)
        Columns that say whether a lot is used; none where that does not matter.
    bag : shape (lots,)
        Share of a whole bag in the batch.
    total
        Column of the size of the batch.
    mean, weight : shape (windows,)
        Columns of each window.
    mean_row : shape (windows,)
        Rows that define `mean`.
    unit : shape (windows,)
        Of `mean` and of deviations, in the unit of the window.
    spreads
        Deviations among the columns.
    variance
        The variance that is minimised, if one is.
    """

    matrix: sparse.csr_array
    row_lower: Floats
    row_upper: Floats
    constraints: tuple[Constraint | None, ...]
    lower: Floats
    upper: Floats
    whole: NDArray[np.bool_]
    aim: Floats
    cost: Floats
    loose: Places
    bags: Places
    used: Places
    bag: Floats
    total: int
    mean: Places
    weight: Places
    mean_row: Places
    unit: Floats
    spreads: tuple[Spread, ...]
    variance: Variance | None

    def shares(self, point: Floats) -> Floats:
        """Share of each lot in the batch asked for, shape (lots,)."""
        return point[self.loose] + self.bag * point[self.bags]

    def of_lots(self) -> list[Places]:
        """Columns that belong to one lot each, shape (lots,) every one."""
        lots = self.loose.size
        parts = [spread.parts[:lots] for spread in self.spreads]
        if self.variance is not None:
            parts.append(self.variance.parts[:lots])
        return [self.loose, self.bags, *([self.used] if self.used.size else []), *parts]

    def small_deviations(self) -> Floats:
        """An aim that keeps odds where they can be kept, so that few tangents settle whether."""
        aim = np.zeros(self.lower.size)
        aim[[spread.column for spread in self.spreads]] = 1.0
        return aim

    def limited(self, terms: Floats, most: float) -> "Model":
        """The model with one row more: a sum of columns is at most that."""
        return replace(
            self,
            matrix=sparse.vstack((self.matrix, sparse.csr_array(terms[None, :])), format="csr"),
            row_lower=np.append(self.row_lower, -np.inf),
            row_upper=np.append(self.row_upper, most),
            constraints=(*self.constraints, None),
        )
