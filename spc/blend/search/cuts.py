"""Tangents of the odds and lines below a variance, added where a solution breaks them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from spc.blend.search.cone import Tangents
from spc.blend.search.model import Model, Spread
from spc.blend.search.variance import Line, Variance

Floats = NDArray[np.float64]
Term = tuple[NDArray[np.int64], Floats]

# Cut a little deeper than the solver's tolerance of 1e-6, or it hands the same point back; in the
# model's units that is some billionths of a typical uncertainty.
DEEPER: Final = 5e-6
# Parts below this share of the deviation bend too little to be worth a tangent.
FLAT: Final = 1e-7
# An understatement of the least variance by this share is let pass.
ROUGH: Final = 1e-5
TINY: Final = 1e-12
# A part that is too small by this share of the largest deviation is let pass while lots are broken.
COUNTED: Final = 1e-3
# Shares of the batch at which a lot that is likely to be used gets its tangents beforehand.
LIKELY_SHARES: Final = (0.03, 0.1, 0.2, 0.35)
# Lines below the square of a lot in a variance: of each lot at first, and at most of all that are
# likely to be used.
FIRST_LINES: Final = 40
MOST_LINES: Final = 6_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Row:
    columns: NDArray[np.int64]
    values: Floats
    lower: float


class Cuts:
    """The tangents known so far; every solve of a model adds to them.

    Parameters
    ----------
    model
        Whose deviations and variances are cut.
    """

    def __init__(self, model: Model) -> None:
        self._model = model
        self._rows: list[_Row] = []
        self._prepared: set[int] = set()

    def __len__(self) -> int:
        return len(self._rows)

    def matrix(self) -> tuple[sparse.csr_array, Floats]:
        """Rows of the tangents, and the lower bound of each."""
        width, rows = self._model.lower.size, self._rows
        if not rows:
            return sparse.csr_array((0, width)), np.zeros(0)
        row = np.repeat(np.arange(len(rows)), [each.columns.size for each in rows])
        column = np.concatenate([each.columns for each in rows])
        value = np.concatenate([each.values for each in rows])
        matrix = sparse.csr_array((value, (row, column)), shape=(len(rows), width))
        return matrix, np.array([each.lower for each in rows])

    def drop_slack(self, dual: Floats) -> None:
        """Forget the tangents that do not hold the value of a relaxation.

        Parameters
        ----------
        dual : shape (tangents,)
            Of each tangent.
        """
        self._rows = [self._rows[row] for row in np.flatnonzero(dual).tolist()]
        self._prepared.clear()

    def add(self, point: Floats, shares: Floats, *, tolerance: float) -> bool:
        """Cut a point off where its deviations are larger than they may be.

        Parameters
        ----------
        point
            A solution.
        shares : shape (lots,)
            The shares it stands for.
        tolerance
            By how much the odds may be missed, as a chance.

        Returns
        -------
        bool
            Whether anything was cut off.
        """
        before = len(self)
        for spread in self._model.spreads:
            self._cut_odds(spread, shares, tolerance)
        if self._model.variance is not None:
            self._cut_variance(self._model.variance, point, shares)
        return len(self) > before

    def count(self, point: Floats, shares: Floats) -> bool:
        """Cut a point off where many lots that are hardly used make a deviation too small.

        Parameters
        ----------
        point
            A solution whose whole numbers may be broken.
        shares : shape (lots,)
            The shares it stands for.

        Returns
        -------
        bool
            Whether anything was cut off.

        Notes
        -----
        A lot that is used by half brings a part as if all of it were used: r is at least
        (u x)² / (s y), with y from 0 to 1 and s the largest deviation that any recipe can have.
        Without it, a most number of lots would not be felt before whole numbers are.
        """
        before = len(self)
        if not self._model.used.size:
            return False
        for spread in self._model.spreads:
            self._cut_counted(spread, point, shares)
        return len(self) > before

    def _cut_counted(self, spread: Spread, point: Floats, shares: Floats) -> None:
        lots = spread.own.size
        used = self._model.used
        limit = spread.largest(self._model.upper[self._model.total])
        own = spread.own * shares
        size = limit * np.maximum(point[used], TINY)
        short = own**2 / size > point[spread.parts[:lots]] + COUNTED * limit
        for lot in np.flatnonzero(short & (own > FLAT * limit)).tolist():
            slope = float(own[lot] / size[lot])
            self._tangent(spread, lot, slope, reference=int(used[lot]), times=limit)

    def sketch(self) -> None:
        """A few lines below the square of every lot in a variance."""
        variance = self._model.variance
        if variance is not None:
            for lot in np.flatnonzero(self._model.shares(self._model.upper)).tolist():
                for line in variance.rough_lines(lot, FIRST_LINES):
                    self._below(variance, lot, line)

    def prepare(self, lots: Sequence[int], shares: Floats, *, gap: float) -> None:
        """Tangents of lots that are likely to be used, so that few solves are needed.

        Parameters
        ----------
        lots
            Their indices.
        shares : shape (lots,)
            A solution with about the deviations that the recipe will have.
        gap
            What lines below squares may leave out of a variance, as a share of it.
        """
        new = [lot for lot in lots if lot not in self._prepared]
        self._prepared.update(new)
        for spread in self._model.spreads:
            size = spread.deviation(shares)
            for lot in new if size > 0.0 else ():
                for share in LIKELY_SHARES if spread.own[lot] > 0.0 else ():
                    self._tangent(spread, lot, share * float(spread.own[lot]) / size)
        if self._model.variance is not None:
            self._approach(self._model.variance, new, shares, gap)

    def _approach(
        self, variance: Variance, lots: Sequence[int], shares: Floats, gap: float
    ) -> None:
        for lot in lots:
            count = max(MOST_LINES // len(lots), FIRST_LINES)
            for line in variance.close_lines(lot, shares, gap=gap, count=count):
                self._below(variance, lot, line)

    def _cut_odds(self, spread: Spread, shares: Floats, tolerance: float) -> None:
        mass = spread.mass(shares)
        mean, deviation = spread.distance(shares) / mass, spread.deviation(shares) / mass
        if spread.keeps(shares, tolerance=tolerance) or not deviation:
            return
        parts, length = spread.coordinates(shares), deviation * mass
        for part in np.flatnonzero(parts > FLAT * length):
            self._tangent(spread, int(part), float(parts[part]) / length)
        self._line(spread, spread.admissible.tangent_near(mean, deviation))

    def _cut_variance(self, variance: Variance, point: Floats, shares: Floats) -> None:
        squared = variance.coordinates(shares)
        used = np.ones(squared.size)
        if self._model.used.size:
            used[: shares.size] = np.maximum(point[self._model.used], TINY)
        missing = squared**2 / used - point[variance.parts]
        size = ROUGH * float(np.sum(squared**2 / used))
        if float(np.maximum(missing, 0.0).sum()) <= size:
            return
        for part in np.flatnonzero(missing > size / squared.size).tolist():
            line = variance.line(part, float(squared[part] / used[part]))
            self._below(variance, part, line)

    def _below(self, variance: Variance, part: int, line: Line) -> None:
        """A part is at least slope u - constant, if it is used, for what is squared in it."""
        slope, constant = line
        part_column = (np.array([variance.parts[part]]), 1.0)
        if part < variance.own.size and self._model.used.size:
            used = (np.array([self._model.used[part]]), constant)
            self._row(part_column, used, *self._squared(variance, part, -slope))
        else:
            self._row(part_column, *self._squared(variance, part, -slope), lower=-constant)

    def _tangent(
        self,
        spread: Spread,
        part: int,
        slope: float,
        *,
        reference: int | None = None,
        times: float = 1.0,
    ) -> None:
        """A part is at least 2 slope u - slope² times its reference, for what is squared in it."""
        column = spread.column if reference is None else reference
        self._row(
            (np.array([spread.parts[part]]), 1.0),
            (np.array([column]), times * slope**2),
            *self._squared(spread, part, -2.0 * slope),
        )

    def _squared(self, of: Spread | Variance, part: int, times: float) -> tuple[Term, Term]:
        """Terms of what is squared in a part."""
        model, lots = self._model, of.own.size
        if part < lots:
            places, own = np.array([part]), of.own[part : part + 1]
        else:
            places = np.flatnonzero(of.shared[part - lots])
            own = of.shared[part - lots][places]
        return (
            (model.loose[places], times * own),
            (model.bags[places], times * own * model.bag[places]),
        )

    def _line(self, spread: Spread, lines: Tangents) -> None:
        """The deviation lies below a tangent of the odds."""
        size = max(float(lines.width[0]), abs(float(lines.slope[0])), 1.0)
        self._row(
            (np.array([spread.column]), -lines.width / size),
            (np.array([spread.mean]), lines.slope / size),
            (np.array([spread.weight]), lines.intercept / size),
            lower=DEEPER,
        )

    def _row(self, *terms: tuple[NDArray[np.int64], Floats | float], lower: float = 0.0) -> None:
        self._rows.append(
            _Row(
                columns=np.concatenate([places for places, _ in terms]),
                values=np.concatenate(
                    [np.broadcast_to(value, places.shape) for places, value in terms]
                ),
                lower=lower,
            )
        )
