"""What a lot record is made from: plain values, gathered once, with nothing left to look up."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import pandas as pd

from spc.acceptance import LotVerdict
from spc.answers.charted_streams import ChartedStream
from spc.answers.signed_versions import SignedVersion
from spc.heat import Chain
from spc.store import Lot
from spc.store.catalogue.approvals import Approval
from spc.store.people import Request


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
    streams
        Of what decided, then any other of our own in which the lot is unusual, each held to the
        line of the specification that the verdict rests on.
    audit
        Entries about the lot and the files its rows came in, oldest first: sequence, entered_at,
        actor, action, subject, hash.
    sources
        Receipts of those files.
    head
        Number and hash of the newest entry of the whole chain.
    void
        Results that a laboratory error made void, with cause and both persons.
    corrected
        Results that took the place of others: old and new, with who, when and why.
    requests
        What was to be signed about the lot, with its signatures, oldest first.
    judged_under
        The approval of the version that the verdict rests on; None while none is approved.
    signed_under
        By disposition, the version that it was signed under.
    attachments
        Files kept with the lot: name, note, sha256, attached_by, attached_at.
    printed_at
        UTC, or with its zone.
    """

    lot: Lot
    verdict: LotVerdict
    results: pd.DataFrame
    streams: tuple[ChartedStream, ...]
    calculations: tuple[Calculation, ...]
    held: pd.DataFrame
    dispositions: pd.DataFrame
    audit: pd.DataFrame
    sources: pd.DataFrame
    void: pd.DataFrame
    corrected: pd.DataFrame
    draws: Sequence[Mapping[str, Any]]
    attachments: pd.DataFrame
    requests: Sequence[Request]
    judged_under: Approval | None
    signed_under: Mapping[str, SignedVersion]
    head: tuple[int, str]
    printed_by: str
    printed_at: datetime
