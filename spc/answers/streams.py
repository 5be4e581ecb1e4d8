"""Other ways to look at a stream: averages that remember, running sums, scores, spread in lots."""

from dataclasses import dataclass
from typing import Final, Literal, get_args

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc import charts
from spc.charts.lots import EXACT, Scale
from spc.store import Stream

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
View = Literal[
    "lot values",
    "weighted average",
    "running sums",
    "spread within lots",
    "scores without a baseline",
    "all characteristics together",
]
VIEWS: Final[tuple[View, ...]] = get_args(View)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WeightedAverage:
    """The average so far at each lot, in the unit of the lots.

    Attributes
    ----------
    value, lower, upper
        The average and its limits.  Shape (lots,).
    signals
        Where it lies outside.  Shape (lots,).
    """

    value: Floats
    lower: Floats
    upper: Floats
    signals: Flags


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RunningSums:
    """What lies above and below the centre, added up, in sigmas.

    Attributes
    ----------
    above, below
        The sum upwards, and downwards as a negative number.  Shape (lots,).
    decision
        Beyond which a sum signals.
    signals
        Where one of them does.  Shape (lots,).
    """

    above: Floats
    below: Floats
    decision: float
    signals: Flags


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SpreadWithin:
    """The spread between the samples of each lot, on the stream's scale.

    Attributes
    ----------
    known
        Lots without an open reading.  Shape (lots,).
    spread
        Standard deviation of each known lot's samples, a share of the value on log scale; NaN with
        one sample.  Shape (known lots,).
    components
        What all known lots lead one to expect, and the two components of variance.
    """

    known: Flags
    spread: Floats
    components: charts.BetweenWithin

    @property
    def signals(self) -> Flags:
        """Where a lot's samples differ by more than expected.  Shape (known lots,)."""
        return np.asarray(self.spread > self.components.within.upper)


def weighted_average(points: pd.DataFrame) -> WeightedAverage:
    """Each lot's value replaced by the weighted average so far.

    Parameters
    ----------
    points
        Of one stream, from a survey, with limits to judge by.

    Returns
    -------
    WeightedAverage

    Notes
    -----
    The average is taken of distances from the centre and given in the unit, so that it follows
    each lot's own limits; a lot without a usable value leaves it where it was.
    """
    parts = [charts.ewma(run, target=0.0, sigma=1.0) for run in _runs(points)]
    return WeightedAverage(
        value=_in_unit(points, [one.values for one in parts]),  # noqa: PD011 - not frames
        lower=_in_unit(points, [one.lower for one in parts]),
        upper=_in_unit(points, [one.upper for one in parts]),
        signals=np.concatenate([one.signals for one in parts]),
    )


def _in_unit(points: pd.DataFrame, scores: list[Floats]) -> Floats:
    """Distances from the centre, each in the unit by its lot's own limits."""
    log = bool((points["scale"] == "log").all())
    upper = np.log(points["upper"]) if log else points["upper"]
    # Scores have every kind of limits at three, also those wider than three sigmas.
    step = (upper - points["center"]) / 3.0
    worked = (points["center"] + step * np.concatenate(scores)).to_numpy(dtype=np.float64)
    return np.asarray(np.exp(worked)) if log else worked


def running_sums(points: pd.DataFrame) -> RunningSums:
    """Sums of what lies above and below the centre, in sigmas.

    Parameters
    ----------
    points
        Of one stream, from a survey, with limits to judge by.

    Returns
    -------
    RunningSums
    """
    parts = [charts.cusum(run, target=0.0, sigma=1.0) for run in _runs(points)]
    return RunningSums(
        above=np.concatenate([one.high for one in parts]),
        below=-np.concatenate([one.low for one in parts]),
        decision=parts[0].decision,
        signals=np.concatenate([one.signals for one in parts]),
    )


def _runs(points: pd.DataFrame) -> list[Floats]:
    """Scores of the stream, parted where a stage begins anew and nothing is remembered."""
    begins = np.flatnonzero(points["restart"].to_numpy(dtype=np.bool_))
    return np.split(points["z"].to_numpy(dtype=np.float64), begins)


def scores_without_baseline(points: pd.DataFrame) -> Floats:
    """Each lot against the lots before it only: serves without a baseline.

    Parameters
    ----------
    points
        Of one stream, from a survey.

    Returns
    -------
    Floats
        Beyond three a lot is unusual; NaN for the first two and for lots known as a bound only.
        Shape (lots,).
    """
    worked = np.log(points["value"]) if (points["scale"] == "log").all() else points["value"]
    return charts.self_starting(worked.where(points["censored"] == EXACT))


def spread_within(stream: Stream) -> SpreadWithin:
    """The spread between the samples of each lot, against what all lots lead one to expect.

    Parameters
    ----------
    stream
        Every reading of it, from `store.stream(key)`.

    Returns
    -------
    SpreadWithin
        Lots with an open reading are left out.

    Raises
    ------
    InvalidInput
        If fewer than two lots can be compared, or none has two samples.
    """
    means, starts, known = _sample_means(stream)
    lots = np.split(means, starts[1:])
    return SpreadWithin(
        known=known,
        components=charts.between_within(means, starts),
        spread=np.array([one.std(ddof=1) if one.size > 1 else np.nan for one in lots]),
    )


def _sample_means(stream: Stream) -> tuple[Floats, NDArray[np.int64], Flags]:
    """Means of samples on the stream's scale, where each lot begins, and which lots are exact."""
    scale: Scale = "log" if stream.scale == "log" else "linear"
    firsts = np.flatnonzero(np.diff(stream.sample, prepend=stream.sample[0] - 1))
    values = charts.lot_values(stream.low, stream.high, stream.sample, firsts, scale=scale)
    lot = np.searchsorted(stream.starts, firsts, side="right") - 1
    exact = np.bincount(lot, values.censored != EXACT) == 0
    kept = exact[lot]
    means = values.value[kept]
    starts = np.flatnonzero(np.diff(lot[kept], prepend=-1))
    return np.log(means) if scale == "log" else means, starts, exact
