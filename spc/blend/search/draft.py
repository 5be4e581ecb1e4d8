"""A linear model under construction: columns with bounds, rows with names."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import sparse

from spc.blend.problem.constraints import Constraint

Floats = NDArray[np.float64]
Places = NDArray[np.int64]
# Columns, and the coefficient of each.
Term = tuple[Places, ArrayLike]


@dataclass(slots=True)
class Draft:
    """Columns and rows so far; what is returned by `take` and `add` are their places."""

    column_lower: list[Floats] = field(default_factory=list)
    column_upper: list[Floats] = field(default_factory=list)
    whole: list[NDArray[np.bool_]] = field(default_factory=list)
    width: int = 0
    entries: list[tuple[Places, Places, Floats]] = field(default_factory=list)
    row_lower: list[Floats] = field(default_factory=list)
    row_upper: list[Floats] = field(default_factory=list)
    constraints: list[Constraint | None] = field(default_factory=list)

    def take(self, lower: float, upper: ArrayLike, *, whole: bool = False) -> Places:
        """Columns with these bounds, which may have to hold whole numbers."""
        high = np.atleast_1d(np.asarray(upper, dtype=np.float64))
        self.column_lower.append(np.full(high.shape, lower))
        self.column_upper.append(high)
        self.whole.append(np.full(high.shape, whole))
        places = np.arange(self.width, self.width + high.size)
        self.width += high.size
        return places

    def add(
        self,
        *terms: Term,
        lower: float = -np.inf,
        upper: float = np.inf,
        constraint: Constraint | None = None,
    ) -> int:
        """One row: the sum of all columns of all terms."""
        row = len(self.constraints)
        for columns, coefficients in terms:
            values = np.broadcast_to(np.asarray(coefficients, dtype=np.float64), columns.shape)
            self.entries.append((np.full(columns.shape, row), columns, values))
        self._bounded(lower, upper, constraint, 1)
        return row

    def add_each(
        self,
        *terms: Term,
        lower: float = -np.inf,
        upper: float = np.inf,
        constraint: Constraint | None = None,
    ) -> None:
        """Many rows: the nth takes the nth column of every term, or the only one."""
        count = terms[0][0].size
        row = len(self.constraints) + np.arange(count)
        for columns, coefficients in terms:
            values = np.broadcast_to(np.asarray(coefficients, dtype=np.float64), count)
            self.entries.append((row, np.broadcast_to(columns, count), values))
        self._bounded(lower, upper, constraint, count)

    def matrix(self) -> sparse.csr_array:
        """All rows; coefficients of one place are added up."""
        row, column, value = (np.concatenate(part) for part in zip(*self.entries, strict=True))
        return sparse.csr_array((value, (row, column)), shape=(len(self.constraints), self.width))

    def vector(self, terms: list[Term]) -> Floats:
        """Coefficients of a sum of terms, over all columns."""
        vector = np.zeros(self.width)
        for columns, coefficients in terms:
            np.add.at(vector, columns, coefficients)
        return vector

    def _bounded(
        self, lower: float, upper: float, constraint: Constraint | None, count: int
    ) -> None:
        self.row_lower.append(np.full(count, lower))
        self.row_upper.append(np.full(count, upper))
        self.constraints.extend([constraint] * count)
