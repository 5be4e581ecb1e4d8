"""Repeatability and reproducibility from laboratories that measured the same levels."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from spc.compare.studies.mandel import critical_h, critical_k, mandel_h, mandel_k
from spc.compare.studies.study_cells import LeftOut, StudyCells, study_cells
from spc.compare.studies.study_screening import RISKS, Screening, screenings
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

FEWEST_LABORATORIES: Final = 2
FEWEST_FOR_H: Final = 3
# Two results differ by no more than this many of their standard deviations, 19 times out of 20;
# ISO 5725-6 prints 2.8.
LIMIT_FACTOR: Final = math.sqrt(2.0) * float(stats.norm.isf(0.025))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Repeatability:
    """Precision of a method, level by level; arrays of shape (levels,) where nothing else is said.

    Attributes
    ----------
    levels, laboratories
        Names.
    mean
        General mean of each level, every reading weighing alike; unit of the readings.
    repeatability_sd, between_sd, reproducibility_sd
        Standard deviation of readings of one laboratory, between laboratories, and of single
        readings of different laboratories: s_r, s_L and s_R.
    repeatability_limit, reproducibility_limit
        What the difference of two readings exceeds once in 20 times: r and R.
    repeatability_degrees
        Degrees of freedom of s_r.
    between_degrees, reproducibility_degrees
        Of s_L and s_R, approximate; of s_L NaN where it is zero.
    floored
        Whether the laboratories differ by no more than their readings explain, so that the
        variance between them is shown as zero.
    cells
        Number, mean and variance of each laboratory's readings at each level.
    h, k : shape (levels, laboratories)
        Mandel's statistics: how far each laboratory's mean lies from all, and how large its
        standard deviation is beside all.
    critical_h : shape (levels, 2)
        At 5 % and 1 %, on either side; NaN with fewer than three laboratories.
    critical_k : shape (levels, laboratories, 2)
        At 5 % and 1 %, by each cell's number of readings.
    screening
        Outlier tests of variances and means.
    left_out
        What was not used, with reasons.
    """

    levels: tuple[str, ...]
    laboratories: tuple[str, ...]
    mean: Floats
    repeatability_sd: Floats
    between_sd: Floats
    reproducibility_sd: Floats
    repeatability_limit: Floats
    reproducibility_limit: Floats
    repeatability_degrees: NDArray[np.int64]
    between_degrees: Floats
    reproducibility_degrees: Floats
    floored: NDArray[np.bool_]
    cells: StudyCells
    h: Floats
    k: Floats
    critical_h: Floats
    critical_k: Floats
    screening: tuple[Screening, ...]
    left_out: tuple[LeftOut, ...]

    @property
    def suspects(self) -> tuple[Screening, ...]:
        """Tests that found a straggler or an outlier."""
        return tuple(one for one in self.screening if one.standing != "unremarkable")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _MeanSquares:
    """Of each level: within and between laboratories, degrees of freedom, usual replicates."""

    within: Floats
    between: Floats
    within_degrees: NDArray[np.int64]
    between_degrees: NDArray[np.int64]
    replicates: Floats


def repeatability(
    value: ArrayLike,
    laboratory: ArrayLike,
    level: ArrayLike | None = None,
    *,
    left_out: Sequence[LeftOut] = (),
) -> Repeatability:
    """Repeatability and reproducibility of a method from an interlaboratory study.

    Parameters
    ----------
    value : shape (readings,)
        In one unit.
    laboratory : shape (readings,)
        Code of the laboratory, or of the operator or instrument in its place.
    level : shape (readings,)
        Code of the material measured; without it there is one level.
    left_out
        Cells not to use, each with its reason.

    Returns
    -------
    Repeatability
        In the unit of the readings.

    Raises
    ------
    InvalidInput
        If lengths differ, a value is not finite, a level has fewer than two laboratories or no
        replicates, or something left out is not in the study or has no reason.

    Notes
    -----
    Any numbers of replicates.  Stragglers and outliers are marked, not removed: leaving them out
    is a decision that somebody has to give a reason for.  h is taken from the mean of the
    laboratories' means, as Grubbs' test is; k is each standard deviation beside the root mean
    square of all.  Critical values of k suppose that the other laboratories have as many
    replicates as the one looked at.

    References
    ----------
    ISO 5725-2:1994, 7.2 to 7.4; ISO 5725-6:1994, 4.1 (limits).
    Satterthwaite, F. E. (1946), Biometrics Bulletin 2, 110-114 (degrees of freedom).
    """
    cells = study_cells(value, laboratory, level, left_out)
    squares = _mean_squares(cells)
    between = (squares.between - squares.within) / squares.replicates
    variance = np.maximum(0.0, between)
    within_part = 1.0 - 1.0 / squares.replicates
    repeatability_sd = np.sqrt(squares.within)
    reproducibility_sd = np.sqrt(variance + squares.within)
    return Repeatability(
        levels=cells.levels,
        laboratories=cells.laboratories,
        mean=_general_mean(cells),
        repeatability_sd=repeatability_sd,
        between_sd=np.sqrt(variance),
        reproducibility_sd=reproducibility_sd,
        repeatability_limit=LIMIT_FACTOR * repeatability_sd,
        reproducibility_limit=LIMIT_FACTOR * reproducibility_sd,
        repeatability_degrees=squares.within_degrees,
        between_degrees=_degrees(squares, variance, -1.0 / squares.replicates),
        reproducibility_degrees=_degrees(squares, variance + squares.within, within_part),
        floored=between < 0.0,
        cells=cells,
        h=mandel_h(cells.mean),
        k=mandel_k(cells.variance),
        critical_h=_critical_h(cells),
        critical_k=_critical_k(cells),
        screening=screenings(cells),
        left_out=tuple(left_out),
    )


def _general_mean(cells: StudyCells) -> Floats:
    sums = np.nansum(cells.replicates * cells.mean, axis=1)
    return np.asarray(sums / cells.replicates.sum(axis=1), dtype=np.float64)


def _mean_squares(cells: StudyCells) -> _MeanSquares:
    n, measured = cells.replicates, cells.replicates > 0
    laboratories, readings = measured.sum(axis=1), n.sum(axis=1)
    for level, few, bare in zip(
        cells.levels, laboratories < FEWEST_LABORATORIES, readings <= laboratories, strict=True
    ):
        if few or bare:
            raise InvalidInput(
                f"level {level} has {'fewer than two laboratories' if few else 'no replicates'}.",
                where="repeatability",
                remedy="Leave the level out, or measure it again in two laboratories or more.",
            )
    within_degrees, between_degrees = readings - laboratories, laboratories - 1
    off = cells.mean - _general_mean(cells)[:, None]
    return _MeanSquares(
        within=np.nansum((n - 1) * cells.variance, axis=1) / within_degrees,
        between=np.nansum(n * off**2, axis=1) / between_degrees,
        within_degrees=within_degrees,
        between_degrees=between_degrees,
        replicates=(readings - (n**2).sum(axis=1) / readings) / between_degrees,
    )


def _degrees(squares: _MeanSquares, variance: Floats, within_part: Floats) -> Floats:
    """Of a variance that is the between mean square by the replicates, and a part of the other."""
    uncertain = (squares.between / squares.replicates) ** 2 / squares.between_degrees
    uncertain = uncertain + (within_part * squares.within) ** 2 / squares.within_degrees
    degrees = np.full(variance.shape, np.nan)
    np.divide(variance**2, uncertain, out=degrees, where=variance > 0.0)
    return degrees


def _critical_h(cells: StudyCells) -> Floats:
    counts = (cells.replicates > 0).sum(axis=1).tolist()
    rows = [
        [critical_h(p, risk) if p >= FEWEST_FOR_H else math.nan for risk in RISKS] for p in counts
    ]
    return np.array(rows, dtype=np.float64)


def _critical_k(cells: StudyCells) -> Floats:
    repeated = cells.replicates > 1
    critical = np.full((*cells.replicates.shape, len(RISKS)), np.nan)
    for level, counts in enumerate(cells.replicates):
        p = int(repeated[level].sum())
        for n in np.unique(counts[counts > 1]).tolist() if p >= FEWEST_LABORATORIES else ():
            critical[level, counts == n] = [critical_k(p, n, risk) for risk in RISKS]
    return critical
