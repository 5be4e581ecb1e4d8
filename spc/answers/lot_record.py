"""What a lot record is made from: plain values, gathered once, with nothing left to look up."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import pandas as pd

from spc.acceptance import Line, LotVerdict
from spc.heat import Chain
from spc.store import Lot, StreamKey


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Charted:
    """One stream that the lot has a point in.

    Attributes
    ----------
    points, signals
        Of this stream only, as a survey tells them.
    frozen
        Whether its limits rest on a baseline that a person froze.
    line
        The specification's line on this characteristic and basis; None draws no bracket.
    """

    key: StreamKey
    points: pd.DataFrame
    signals: pd.DataFrame
    frozen: bool
    line: Line | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Calculation:
    """One reading worked out step by step; `result` says where it came from."""

    result: Mapping[str, Any]
    chain: Chain


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LotRecord:
    """Everything that is on record of one lot at one moment.

    Attributes
    ----------
    results, held, dispositions, draws
        As the store tells them, of this lot only.
    audit
        Entries about the lot and the files its rows came in, oldest first: sequence, entered_at,
        actor, action, subject, hash.
    sources
        Receipts of those files.
    head
        Number and hash of the newest entry of the whole chain.
    void
        Results that a laboratory error made void, with cause and both persons.
    attachments
        Files kept with the lot: name, note, sha256, attached_by, attached_at.
    printed_at
        UTC, or with its zone.
    """

    lot: Lot
    verdict: LotVerdict
    results: pd.DataFrame
    streams: tuple[Charted, ...]
    calculations: tuple[Calculation, ...]
    held: pd.DataFrame
    dispositions: pd.DataFrame
    audit: pd.DataFrame
    sources: pd.DataFrame
    void: pd.DataFrame
    draws: Sequence[Mapping[str, Any]]
    attachments: pd.DataFrame
    head: tuple[int, str]
    printed_by: str
    printed_at: datetime
