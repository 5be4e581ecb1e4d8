"""Tangents of the odds, added where a solution breaks them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from spc.blend.cone import Admissible, Tangents
from spc.blend.model import Model, Spread

Floats = NDArray[np.float64]

# Cut a little deeper than the solver's tolerance of 1e-6, or it hands the same point back; in the
# model's units that is some billionths of a typical uncertainty.
DEEPER: Final = 5e-6
# Parts below this share of the deviation bend too little to be worth a tangent.
FLAT: Final = 1e-7
# A variance is minimised, not limited: an understatement by this share is let pass.
ROUGH: Final = 1e-3
TINY: Final = 1e-12
# A part that is too small by this share of the largest deviation is let pass while lots are broken.
COUNTED: Final = 1e-3
# Shares of the batch at which a lot that is likely to be used gets its tangents beforehand.
LIKELY_SHARES: Final = (0.03, 0.1, 0.2, 0.35)
FINER_SHARES: Final = (0.02, 0.05, 0.08, 0.11, 0.14, 0.17, 0.2, 0.25, 0.3, 0.4)


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
            if spread.admissible is None:
                self._cut_variance(spread, point, shares)
            else:
                self._cut_odds(spread, spread.admissible, shares, tolerance)
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
            if spread.admissible is not None:
                self._cut_counted(spread, spread.admissible, point, shares)
        return len(self) > before

    def _cut_counted(
        self, spread: Spread, admissible: Admissible, point: Floats, shares: Floats
    ) -> None:
        lots = spread.own.size
        used = self._model.used
        limit = spread.largest(self._model.upper[self._model.total], admissible)
        own = spread.own * shares
        size = limit * np.maximum(point[used], TINY)
        short = own**2 / size > point[spread.parts[:lots]] + COUNTED * limit
        for lot in np.flatnonzero(short & (own > FLAT * limit)).tolist():
            slope = float(own[lot] / size[lot])
            self._tangent(spread, lot, slope, reference=int(used[lot]), times=limit)

    def prepare(self, lots: Sequence[int], shares: Floats) -> None:
        """Tangents of lots that are likely to be used, so that few solves are needed.

        Parameters
        ----------
        lots
            Their indices.
        shares : shape (lots,)
            A solution with about the deviations that the recipe will have.
        """
        new = [lot for lot in lots if lot not in self._prepared]
        self._prepared.update(new)
        for spread in self._model.spreads:
            limited = spread.admissible is not None
            size = spread.deviation(shares) if limited else 1.0
            likely = LIKELY_SHARES if limited else FINER_SHARES
            for lot in new if size > 0.0 else ():
                for share in likely if spread.own[lot] > 0.0 else ():
                    self._tangent(spread, lot, share * float(spread.own[lot]) / size)

    def _cut_odds(
        self, spread: Spread, admissible: Admissible, shares: Floats, tolerance: float
    ) -> None:
        mass = spread.mass(shares)
        mean, deviation = spread.distance(shares) / mass, spread.deviation(shares) / mass
        if spread.keeps(shares, tolerance=tolerance) or not deviation:
            return
        parts, length = spread.coordinates(shares), deviation * mass
        for part in np.flatnonzero(parts > FLAT * length):
            self._tangent(spread, int(part), float(parts[part]) / length)
        self._line(spread, admissible.tangent_near(mean, deviation))

    def _cut_variance(self, spread: Spread, point: Floats, shares: Floats) -> None:
        parts, reference = spread.coordinates(shares), point[spread.reference]
        used = np.flatnonzero(parts > 0.0)
        slope = parts[used] / np.maximum(reference[used], TINY)
        needed = float(parts[used] @ slope)
        if needed > float(point[spread.column]) * (1.0 + ROUGH) + TINY:
            for part, each in zip(used, slope, strict=True):
                self._tangent(spread, int(part), float(each))

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
        column = int(spread.reference[part]) if reference is None else reference
        model, lots = self._model, spread.own.size
        if part < lots:
            own = spread.own[part : part + 1]
            places = np.array([part])
        else:
            own = spread.shared[part - lots]
            places = np.flatnonzero(own)
            own = own[places]
        self._row(
            (np.array([spread.parts[part]]), 1.0),
            (np.array([column]), times * slope**2),
            (model.loose[places], -2.0 * slope * own),
            (model.bags[places], -2.0 * slope * own * model.bag[places]),
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
