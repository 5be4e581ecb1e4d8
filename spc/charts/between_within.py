"""How much lots differ, beside how much the readings of one lot do."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from spc.charts.limits import Limits, individuals
from spc.charts.subgroups import (
    Floats,
    GroupLimits,
    Integers,
    lot_means,
    lots_of_readings,
    subgroups,
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BetweenWithin:
    """Lots against each other, and readings against their lot.

    Attributes
    ----------
    lot_means
        Limits for the means of lots, from the differences between successive ones.
    within
        Limits for the standard deviation within each lot.
    between_sigma
        Standard deviation of the true means of lots; never below zero.
    within_sigma
        Standard deviation of one reading within its lot.
    floored
        Whether the estimate of the variance between lots was negative and is shown as zero:
        the means differ by no more than the readings explain.
    size
        Number of lots the estimates rest on.
    readings
        Number of readings.
    """

    lot_means: Limits
    within: GroupLimits
    between_sigma: float
    within_sigma: float
    floored: bool
    size: int
    readings: int


def between_within(
    groups: ArrayLike | Sequence[ArrayLike], starts: ArrayLike | None = None, *, width: float = 3.0
) -> BetweenWithin:
    """Individuals chart of lot means beside the spread within each lot.

    Parameters
    ----------
    groups
        The readings of each lot, one array a lot, of any lengths; or, with `starts`, all
        readings lot after lot in one flat array.
    starts : shape (lots,)
        Index of each lot's first reading in a flat array.
    width
        Distance from centre line to limit, in sigmas.

    Returns
    -------
    BetweenWithin
        In the unit of the readings.

    Raises
    ------
    TooFewLots
        If fewer than two lots are given.
    NoSpread
        If the readings of every lot, or the means of all lots, are equal.
    InvalidInput
        If a lot has no reading, none has two, a reading is not finite, or `width` is not
        positive.

    Notes
    -----
    Lots of a harvested good differ by nature, so the means are judged by how they change
    from lot to lot, not by the spread within lots.  The components come from the mean
    squares of a one-way layout with unequal sizes; the variance between lots may come out
    negative and is then shown as zero, which `floored` says.

    References
    ----------
    ISO 7870-2, individuals and standard deviations.
    Searle, S. R., Casella, G. and McCulloch, C. E. (1992), Variance Components, section 3.6.
    """
    _, within = subgroups(groups, starts, width=width)
    values, first = lots_of_readings(groups, starts, where="between_within")
    means = lot_means(values, first)
    between, pooled = _components(values, means, within.readings)
    return BetweenWithin(
        lot_means=individuals(means, width=width),
        within=within,
        between_sigma=math.sqrt(max(0.0, between)),
        within_sigma=math.sqrt(pooled),
        floored=between < 0.0,
        size=first.size,
        readings=values.size,
    )


def _components(values: Floats, means: Floats, readings: Integers) -> tuple[float, float]:
    """Variances between and within lots, by equating mean squares to what they are on average."""
    lots, total = readings.size, values.size
    within = float(((values - np.repeat(means, readings)) ** 2).sum()) / (total - lots)
    between = float(readings @ (means - values.mean()) ** 2) / (lots - 1)
    typical = (total - float(readings @ readings) / total) / (lots - 1)
    return (between - within) / typical, within
