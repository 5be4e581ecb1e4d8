"""Readings of an interlaboratory study, cell by cell: one laboratory at one level."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.charts.refusals import ROUNDING, refuse_unfinished
from spc.compare.spread.group_codes import coded
from spc.errors import InvalidInput

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """Readings that a person leaves out of a study, and why.

    Attributes
    ----------
    laboratory
        Whose readings.
    reason
        In words; never empty.
    level
        At which; None for all.
    """

    laboratory: str
    reason: str
    level: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StudyCells:
    """Number, mean and variance of every cell; arrays of shape (levels, laboratories).

    Attributes
    ----------
    levels, laboratories
        Their names, in order of the codes given.
    replicates
        Readings of each cell, without those left out.
    mean
        NaN where there is no reading.
    variance
        NaN where there are fewer than two.
    """

    levels: tuple[str, ...]
    laboratories: tuple[str, ...]
    replicates: Integers
    mean: Floats
    variance: Floats


def study_cells(
    value: ArrayLike, laboratory: ArrayLike, level: ArrayLike | None, left_out: Sequence[LeftOut]
) -> StudyCells:
    """Sort the readings of a study into its cells.

    Parameters
    ----------
    value : shape (readings,)
        Any unit.
    laboratory, level : shape (readings,)
        Codes; without levels there is one, without a name.
    left_out
        What not to use.

    Returns
    -------
    StudyCells

    Raises
    ------
    InvalidInput
        If lengths differ, a value is not finite, or something left out is not in the study or has
        no reason.
    """
    values = np.asarray(value, dtype=np.float64)
    refuse_unfinished(values, where="repeatability")
    if values.ndim != 1:
        raise _refused(
            f"readings have {values.ndim} dimensions, not one.", "Give one value a reading."
        )
    size = values.size
    laboratories, column = coded(laboratory, size, name="laboratory", where="repeatability")
    levels: tuple[str, ...] = ("",)
    row = np.zeros(size, dtype=np.int64)
    if level is not None:
        levels, row = coded(level, size, name="level", where="repeatability")
    used = ~_marked(left_out, levels, laboratories)[row, column]
    cell = row[used] * len(laboratories) + column[used]
    count = len(levels) * len(laboratories)
    shape = (len(levels), len(laboratories))
    replicates = np.bincount(cell, minlength=count)
    # Deviations from any near value keep the digits that sums of large numbers lose.
    near = float(values.mean()) if values.size else 0.0
    sums = np.bincount(cell, weights=values[used] - near, minlength=count)
    mean = np.divide(sums, replicates, out=np.full(count, np.nan), where=replicates > 0) + near
    squares = np.bincount(cell, weights=(values[used] - mean[cell]) ** 2, minlength=count)
    freedom = replicates - 1
    # Replicates that are alike differ by rounding in their mean, which is no spread.
    squares[squares <= replicates * (ROUNDING * np.abs(values).max(initial=0.0)) ** 2] = 0.0
    variance = np.divide(squares, freedom, out=np.full(count, np.nan), where=freedom > 0)
    return StudyCells(
        levels=levels,
        laboratories=laboratories,
        replicates=replicates.reshape(shape),
        mean=mean.reshape(shape),
        variance=variance.reshape(shape),
    )


def _marked(
    left_out: Sequence[LeftOut], levels: tuple[str, ...], laboratories: tuple[str, ...]
) -> NDArray[np.bool_]:
    """Which cells are left out; shape (levels, laboratories)."""
    marks = np.zeros((len(levels), len(laboratories)), dtype=np.bool_)
    for one in left_out:
        if not one.reason.strip():
            raise _refused(
                f"laboratory {one.laboratory} is left out without a reason.", "State the reason."
            )
        rows = _position(one.level, levels, "level") if one.level is not None else slice(None)
        marks[rows, _position(one.laboratory, laboratories, "laboratory")] = True
    return marks


def _position(name: str, known: tuple[str, ...], kind: str) -> int:
    if name not in known:
        raise _refused(f"there is no {kind} {name!r}.", f"Name one of: {', '.join(known)}.")
    return known.index(name)


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="repeatability", remedy=remedy)
