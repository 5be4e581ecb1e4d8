"""Laboratories that do not fit a study: looked at, never taken out."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from spc.acceptance.evidence.outliers import Suspect, cochran, grubbs
from spc.charts.refusals import ROUNDING
from spc.compare.studies.outlying_pair import FEWEST_VALUES, OutlyingPair, outlying_pair
from spc.compare.studies.study_cells import StudyCells

Floats = NDArray[np.float64]
Test = Literal["variance", "mean", "pair of means"]
Standing = Literal["unremarkable", "straggler", "outlier"]

# Beyond the first a straggler, beyond the second an outlier: ISO 5725-2:1994, 7.3.2.
RISKS: Final = (0.05, 0.01)
FEWEST_VARIANCES: Final = 2
FEWEST_MEANS: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Screening:
    """One outlier test at one level.

    Attributes
    ----------
    test
        ``"variance"`` (Cochran: the largest of the variances), ``"mean"`` (Grubbs: the mean
        farthest out) or ``"pair of means"`` (Grubbs: the two largest or the two smallest).
    level
        At which.
    laboratories
        That stand out most.
    statistic
        Of the test; that of a pair is remarkable when small, the others when large.
    critical_5, critical_1
        At 5 % and 1 %.
    standing
        ``"straggler"`` beyond the first, ``"outlier"`` beyond the second.
    """

    test: Test
    level: str
    laboratories: tuple[str, ...]
    statistic: float
    critical_5: float
    critical_1: float
    standing: Standing


def screenings(cells: StudyCells) -> tuple[Screening, ...]:
    """All outlier tests that the cells of a study allow, level by level.

    Parameters
    ----------
    cells
        Of the study.

    Returns
    -------
    tuple of Screening
        Without tests of too few laboratories, or of laboratories that are all alike.

    Notes
    -----
    Cochran's test is of variances of equally many readings; as the standard has it, its critical
    value is that of the number most laboratories have, the smaller if two are as frequent.

    References
    ----------
    ISO 5725-2:1994, 7.3.3 and 7.3.4.
    """
    return tuple(one for level in range(len(cells.levels)) for one in _at_level(cells, level))


def _at_level(cells: StudyCells, level: int) -> Iterator[Screening]:
    repeated = np.flatnonzero(~np.isnan(cells.variance[level]))
    variances = cells.variance[level, repeated]
    if repeated.size >= FEWEST_VARIANCES and variances.any():
        typical = int(np.bincount(cells.replicates[level, repeated]).argmax())
        found = [cochran(variances, replicates=typical, risk=risk) for risk in RISKS]
        yield _screening(cells, level, "variance", repeated[[found[0].position]], found)
    measured = np.flatnonzero(~np.isnan(cells.mean[level]))
    means = cells.mean[level, measured]
    if means.size < FEWEST_MEANS or np.ptp(means) <= ROUNDING * np.abs(means).max():
        return
    found = [grubbs(means, risk=risk) for risk in RISKS]
    yield _screening(cells, level, "mean", measured[[found[0].position]], found)
    if means.size >= FEWEST_VALUES:
        pairs = [outlying_pair(means, risk=risk) for risk in RISKS]
        yield _screening(cells, level, "pair of means", measured[[*pairs[0].positions]], pairs)


def _screening(
    cells: StudyCells,
    level: int,
    test: Test,
    places: NDArray[np.int64],
    found: list[Suspect] | list[OutlyingPair],
) -> Screening:
    at_5, at_1 = found
    standing: Standing = "straggler" if at_5.outlying else "unremarkable"
    return Screening(
        test=test,
        level=cells.levels[level],
        laboratories=tuple(cells.laboratories[place] for place in places),
        statistic=at_5.statistic,
        critical_5=at_5.critical,
        critical_1=at_1.critical,
        standing="outlier" if at_1.outlying else standing,
    )
