"""Limits for lots that are measured more than once: their means, and the spread within them."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.charts.constants import c4, d2, d3
from spc.charts.refusals import ROUNDING, refuse_outside, refuse_unfinished
from spc.charts.rules.rules import checked_starts
from spc.errors import InvalidInput, NoSpread, TooFewLots

Spread = Literal["standard deviation", "range"]
Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

FEWEST_LOTS: Final = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroupLimits:
    """Centre line and control limits of each lot, by how many readings it has.

    Attributes
    ----------
    center, lower, upper : shape (lots,)
        Centre line and limits, in the unit of the readings.  NaN on a chart of spreads
        where a lot has one reading and so no spread.
    sigma : shape (lots,)
        Standard deviation of the plotted value of each lot.
    readings : shape (lots,)
        Number of readings of each lot.
    within_sigma
        Estimated standard deviation of one reading within its lot.
    size
        Number of lots the estimates rest on.
    width
        Distance from centre line to limit, in sigmas.
    """

    center: Floats
    sigma: Floats
    lower: Floats
    upper: Floats
    readings: Integers
    within_sigma: float
    size: int
    width: float

    def scores(self, x: ArrayLike) -> Floats:
        """Distance of each lot's plotted value from its centre line, in sigmas."""
        return np.asarray((np.asarray(x) - self.center) / self.sigma, dtype=np.float64)


def subgroups(
    groups: ArrayLike | Sequence[ArrayLike],
    starts: ArrayLike | None = None,
    *,
    spread: Spread = "standard deviation",
    width: float = 3.0,
) -> tuple[GroupLimits, GroupLimits]:
    """Limits for the means of lots and for the spread within them.

    Parameters
    ----------
    groups
        The readings of each lot, one array a lot, of any lengths; or, with `starts`, all
        readings lot after lot in one flat array.
    starts : shape (lots,)
        Index of each lot's first reading in a flat array.
    spread
        What the spread within a lot is measured by.
    width
        Distance from centre line to limit, in sigmas.

    Returns
    -------
    means, spreads : GroupLimits
        In the unit of the readings; a lower limit of spreads is never below zero.

    Raises
    ------
    TooFewLots
        If fewer than two lots are given.
    NoSpread
        If the readings of every lot are equal.
    InvalidInput
        If a lot has no reading, none has two, a reading is not finite (the position counts
        through all readings from 0), `width` is not positive, or `spread` is unknown.

    Notes
    -----
    Lists of readings are how people write lots, flat readings are how streams hold them;
    both are worked flat.  Sigma is the mean of s / c4(n), or of range / d2(n), weighted by
    c4^2 / (1 - c4^2) or (d2 / d3)^2: of all unbiased weighted means the one that varies
    least; with equal lots the plain mean.  The centre of the means weighs readings alike.
    The limits of means rest on the spread within lots only: where lots differ by nature
    most means lie outside, and `between_within` is the chart to use.

    References
    ----------
    ISO 7870-2, charts for means with standard deviations or ranges.
    Burr, I. W. (1969), Journal of Quality Technology 1, 163-167: unequal sizes.
    """
    refuse_outside(width, 0.0, math.inf, name="width", where="subgroups")
    measure, factors = _SPREADS[_known(spread)]
    values, first = lots_of_readings(groups, starts, where="subgroups")
    readings = _lengths(first, values.size)
    mean, deviation = _per_size(readings, factors)
    sigma = _pooled(measure(values, first), mean, deviation, values)
    center = np.full(first.size, values.mean())
    return (
        _limits(center, sigma / np.sqrt(readings), readings, sigma, width=width),
        _limits(sigma * mean, sigma * deviation, readings, sigma, width=width, floor=0.0),
    )


def lots_of_readings(
    groups: ArrayLike | Sequence[ArrayLike], starts: ArrayLike | None, *, where: str
) -> tuple[Floats, Integers]:
    """All readings in one flat array, and where each lot begins.

    Parameters
    ----------
    groups
        The readings of each lot, one array a lot, or all in one flat array.
    starts : shape (lots,)
        Index of each lot's first reading in a flat array.
    where
        The computation that was asked for.

    Returns
    -------
    readings : shape (readings,)
    starts : shape (lots,)

    Raises
    ------
    TooFewLots
        If fewer than two lots are given.
    InvalidInput
        If a lot has no reading, `starts` does not begin with 0 and rise, or a reading is not
        finite; the position counts through all readings from 0.
    """
    if starts is None:
        lots = [np.ravel(np.asarray(group, dtype=np.float64)) for group in _listed(groups, where)]
        lengths = np.array([lot.size for lot in lots], dtype=np.int64)
        if not lengths.all():
            lot = np.flatnonzero(lengths == 0)[0]
            raise InvalidInput(f"lot {lot} has no reading.", where=where, remedy="Leave it out.")
        readings = np.concatenate([*lots, np.zeros(0)])
        first = np.cumsum(lengths) - lengths
    else:
        readings = np.ravel(np.asarray(groups, dtype=np.float64))
        first = checked_starts(starts, readings.size, where=where)
    if first.size < FEWEST_LOTS:
        raise TooFewLots(needed=FEWEST_LOTS, given=first.size, where=where)
    refuse_unfinished(readings, where=where)
    return readings, first


def _listed(groups: ArrayLike | Sequence[ArrayLike], where: str) -> Sequence[ArrayLike]:
    if isinstance(groups, np.ndarray) and groups.ndim > 0:
        return list(groups)
    if isinstance(groups, Sequence) and not isinstance(groups, str | bytes):
        return groups
    raise InvalidInput(
        "readings are not listed lot by lot.",
        where=where,
        remedy="Give one array a lot, or a flat array and its starts.",
    )


def _known(spread: str) -> str:
    if spread not in _SPREADS:
        raise InvalidInput(
            f"spread cannot be measured by {spread!r}.",
            where="subgroups",
            remedy=f"Use one of: {', '.join(_SPREADS)}.",
        )
    return spread


def _per_size(
    readings: Integers, factors: Callable[[int], tuple[float, float]]
) -> tuple[Floats, Floats]:
    """Mean and standard deviation of the spread of each lot, in sigmas; NaN for one reading."""
    sizes, lot = np.unique(readings, return_inverse=True)
    table = [factors(int(n)) if n > 1 else (math.nan, math.nan) for n in sizes]
    mean, deviation = np.array(table).T
    return mean[lot], deviation[lot]


def _pooled(spreads: Floats, mean: Floats, deviation: Floats, values: Floats) -> float:
    repeated = ~np.isnan(mean)
    if not repeated.any():
        raise InvalidInput(
            "every lot has a single reading, so none shows its spread.",
            where="subgroups",
            remedy="Use charts.individuals on the lot values.",
        )
    weight = (mean[repeated] / deviation[repeated]) ** 2
    sigma = float(weight @ (spreads[repeated] / mean[repeated]) / weight.sum())
    if sigma <= ROUNDING * np.abs(values).max():
        raise NoSpread(value=float(values[0]), lots=spreads.size, where="subgroups, within lots")
    return sigma


def _limits(
    center: Floats,
    sigma: Floats,
    readings: Integers,
    within_sigma: float,
    *,
    width: float,
    floor: float = -math.inf,
) -> GroupLimits:
    return GroupLimits(
        center=center,
        sigma=sigma,
        lower=np.maximum(floor, center - width * sigma),
        upper=center + width * sigma,
        readings=readings,
        within_sigma=within_sigma,
        size=readings.size,
        width=width,
    )


def _deviations(values: Floats, first: Integers) -> Floats:
    readings = _lengths(first, values.size)
    off = values - np.repeat(lot_means(values, first), readings)
    return np.asarray(np.sqrt(np.add.reduceat(off**2, first) / np.maximum(readings - 1, 1)))


def _ranges(values: Floats, first: Integers) -> Floats:
    return np.asarray(np.maximum.reduceat(values, first) - np.minimum.reduceat(values, first))


def lot_means(values: Floats, first: Integers) -> Floats:
    """Mean of the readings of each lot, given flat and where each begins."""
    return np.asarray(np.add.reduceat(values, first) / _lengths(first, values.size))


def _lengths(first: Integers, size: int) -> Integers:
    return np.diff(first, append=size)


_SPREADS: Final[
    Mapping[
        str,
        tuple[Callable[[Floats, Integers], Floats], Callable[[int], tuple[float, float]]],
    ]
] = MappingProxyType(
    {
        "standard deviation": (_deviations, lambda n: (c4(n), math.sqrt(1.0 - c4(n) ** 2))),
        "range": (_ranges, lambda n: (d2(n), d3(n))),
    }
)
