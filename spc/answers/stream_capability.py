"""Capability of a stream against its specification: with intervals, or why it is withheld."""

from typing import Final

import pandas as pd

from spc.acceptance import Line
from spc.capability import Capability, Interval, Withheld, gate, indices, tolerance_interval
from spc.charts.lots import EXACT
from spc.digits import percent, written
from spc.errors import NoSpread, TooFewLots

_CONTENT: Final = 0.95
_SURE: Final = 0.95


def capability_of_stream(
    points: pd.DataFrame, signals: pd.DataFrame, line: Line
) -> Capability | Withheld:
    """How the stream's exact lots fit between the limits, if they may be asked.

    Parameters
    ----------
    points, signals
        Of one stream, from a survey.
    line
        The specification's line on it.

    Returns
    -------
    Capability or Withheld
        Withheld with the reason where an index would mislead.
    """
    exact = points[(points["censored"] == EXACT).to_numpy()]
    unusual = exact["lot"].isin(signals["lot"]).sum()
    sigma = float(points["sigma"].iloc[-1])
    return gate(
        lambda: indices(
            exact["value"].to_numpy(),
            lower=line.lower,
            upper=line.upper,
            target=line.target,
            sigma_within=sigma if sigma > 0.0 else None,
            scale=line.scale,
        ),
        lots=len(exact),
        signals=int(unusual),
    )


def most_lots_sentence(points: pd.DataFrame, line: Line) -> str:
    """Between which values most lots lie, whether or not an index may be given.

    Parameters
    ----------
    points
        Of one stream, from a survey.
    line
        The specification's line on it, which says the scale.

    Returns
    -------
    str
        Empty with too few lots, or with lots that are all alike.
    """
    exact = points[(points["censored"] == EXACT).to_numpy()]
    try:
        found = tolerance_interval(
            exact["value"].to_numpy(), content=_CONTENT, confidence=_SURE, scale=line.scale
        )
    except (TooFewLots, NoSpread):
        return ""
    unit = str(points["unit"].iloc[0])
    return (
        f"With {100 * _SURE:.0f} % confidence, {100 * _CONTENT:.0f} % of such lots lie between"
        f" {written(found.lower)} and {written(found.upper, unit=unit)}, as far as the"
        f" {found.size} lots are steady (tolerance interval)."
    )


def capability_sentence(found: Capability | Withheld) -> str:
    """The capability in a sentence, or the reason for which it is withheld.

    Parameters
    ----------
    found
        From `capability_of_stream`.

    Returns
    -------
    str
    """
    if isinstance(found, Withheld):
        return f"Withheld. {found.reason} {found.remedy}"
    return (
        f"Over {found.size} steady lots, {percent(found.expected_outside)} are expected outside the"
        f" limits, and at most {percent(found.outside_at_most)} with"
        f" {100 * found.confidence:.0f} % confidence."
    )


def capability_table(found: Capability) -> pd.DataFrame:
    """The indices with their intervals; ratios of the room between limits to the spread.

    Parameters
    ----------
    found
        That was not withheld.

    Returns
    -------
    DataFrame
        One row an index that the limits allow.
    """
    rows = (
        ("Cp", "room to spread, by the spread from lot to lot", found.cp, found.intervals.cp),
        ("Cpk", "the same to the nearer limit", found.cpk, found.intervals.cpk),
        ("Pp", "room to spread, by the overall spread", found.pp, found.intervals.pp),
        ("Ppk", "the same to the nearer limit", found.ppk, found.intervals.ppk),
        ("Cpm", "room to the spread about the target", found.cpm, found.intervals.cpm),
    )
    return pd.DataFrame(
        [
            {
                "index": name,
                "what it says": words,
                "value": f"{value:.2f}",
                "95 % interval": _interval(interval),
                "lots": found.size,
            }
            for name, words, value, interval in rows
            if value is not None
        ]
    )


def _interval(interval: Interval | None) -> str:
    return "" if interval is None else f"{interval.low:.2f} to {interval.high:.2f}"
