"""A stream as it is charted: its lots, what is unusual among them, and the limits it is held to."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import pandas as pd

from spc.acceptance import Line
from spc.answers.methods import declared_methods
from spc.answers.specified_lines import HEAT, specified_line
from spc.store import Store, StreamKey, Survey

_MONTH: Final = 365.25 / 12.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChartedStream:
    """One stream of a survey.

    Attributes
    ----------
    points, signals
        Of this stream only, as a survey tells them.
    frozen
        Whether its limits rest on a baseline that a person froze.
    line
        The specification's line on this characteristic and basis; None where there is none.
    """

    key: StreamKey
    points: pd.DataFrame
    signals: pd.DataFrame
    frozen: bool
    line: Line | None


def charted_stream(store: Store, survey: Survey, key: StreamKey) -> ChartedStream:
    """A stream with what is unusual in it and what the newest specification asks of it.

    Parameters
    ----------
    store
        Whose catalogue holds the specification.
    survey
        From `store.sweep()`, of all streams or of some with this one.
    key
        The stream.

    Returns
    -------
    ChartedStream
    """
    return stream_held_to(survey, key, line_on_stream(store, key))


def stream_held_to(survey: Survey, key: StreamKey, line: Line | None) -> ChartedStream:
    """A stream with what is unusual in it, beside a line at hand.

    Parameters
    ----------
    survey
        From `store.sweep()`, of all streams or of some with this one.
    key
        The stream.
    line
        What it is held to; None for nothing.

    Returns
    -------
    ChartedStream
    """
    points, signals = survey.of(key), survey.signals()
    return ChartedStream(
        key=key,
        points=points,
        signals=signals[signals["stream"].isin(points["stream"])],
        frozen=key in survey.frozen,
        line=line,
    )


def line_on_stream(store: Store, key: StreamKey) -> Line | None:
    """The newest specification's line on a stream, if it is on the basis the stream is on.

    Parameters
    ----------
    store
        Whose catalogue holds the specification.
    key
        The stream.

    Returns
    -------
    Line or None
    """
    return specified_line(
        store.catalogue(),
        material=key.material,
        characteristic=key.characteristic,
        basis=key.basis,
    )


def streams_of_lot(store: Store, survey: Survey, lot: str) -> list[StreamKey]:
    """The streams that a lot has a point in.

    Parameters
    ----------
    store
        Whose catalogue tells own methods from the supplier's word.
    survey
        From `store.sweep()`, of all streams or of the lot's supplier.
    lot
        Its number.

    Returns
    -------
    list of StreamKey
        Heat first, and of each characteristic own methods first.
    """
    declared = declared_methods(store)
    return sorted(
        points_of_lot(survey, lot),
        key=lambda key: (key.characteristic != HEAT, key.method in declared),
    )


def points_of_lot(survey: Survey, lot: str) -> list[StreamKey]:
    """The streams that a lot has a point in, in the order of the survey.

    Parameters
    ----------
    survey
        From `store.sweep()`.
    lot
        Its number.

    Returns
    -------
    list of StreamKey
    """
    mine = survey.points[survey.points["lot"] == lot]
    return [_key(row) for row in mine.to_dict("records")]


def _key(row: Mapping[Any, Any]) -> StreamKey:
    return StreamKey(**{name: row[name] for name in StreamKey.__dataclass_fields__})


def recent_signals(store: Store, survey: Survey, *, days: int) -> pd.DataFrame:
    """Signals at lots received in the last days, of own methods only.

    Parameters
    ----------
    store
        Which says what day it is, and which methods are our own.
    survey
        From `store.sweep()`.
    days
        How many days back a lot may have been received.

    Returns
    -------
    DataFrame
        One row a signal, newest first, as `Survey.signals` tells them.
    """
    signals = survey.signals()
    since = pd.Timestamp(store.today()) - pd.Timedelta(days=days)
    own = ~signals["method"].isin(declared_methods(store))
    return signals[(signals["received_at"] >= since) & own]


def lots_per_month(points: pd.DataFrame) -> float:
    """How many lots of a stream came in a month over its last year.

    Parameters
    ----------
    points
        Of one stream, from a survey; at least one.

    Returns
    -------
    float
        At least 0.1, so that a price in months stays a number.
    """
    last = points["received_at"].max()
    year = points[points["received_at"] > last - pd.Timedelta(days=365)]
    days = (last - points["received_at"].min()).days
    months = min(max(days, 30), 365) / _MONTH
    return max(float(len(year) / months), 0.1)
