"""Decisions in a lot's record: what counts, who signed it and how, what waits, what was wrong."""

import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

from dashboard.frame.approval_words import signed_under
from dashboard.frame.charts.verdict_mark import disposition_mark
from dashboard.frame.paper import Told, utc
from dashboard.frame.signing_words import moment, signature
from dashboard.frame.words import day
from dashboard.lots import decision_words as words
from dashboard.lots.paper import lines
from spc.answers.lot_record import LotRecord
from spc.store.people import Request

_NOTHING: Final = "No decision has been signed."


def state(record: LotRecord) -> str:
    """What counts now, in a sentence."""
    if record.dispositions.empty:
        return _NOTHING
    last = record.dispositions.iloc[-1]
    who = f"{last['decided_by']} ({last['role']}){words.beside(last)}"
    return f"Decided: {last['decision']} by {who} on {day(last['decided_at'])}."


def decisions(record: LotRecord) -> list[Told]:
    """Every decision, the one that counts first; one that was corrected is struck and stays."""
    asked = {one.request: one for one in record.requests}
    rows = record.dispositions.to_dict("records")
    return [_decision(record, row, asked.get(row["request"])) for row in reversed(rows)]


def waiting(record: LotRecord) -> list[Told]:
    """What was signed by one person and waits for a second."""
    return [
        {
            "what": words.waits(one),
            "reason": one.reason,
            "signatures": [signature(signed) for signed in one.signatures],
        }
        for one in record.requests
        if one.state == "waiting"
    ]


def _decision(record: LotRecord, row: Mapping[Any, Any], asked: Request | None) -> Told:
    under = record.signed_under.get(row["disposition"])
    return {
        "mark": {"svg": lines.ink(disposition_mark(row["decision"])), "alt": row["decision"]},
        "decision": row["decision"],
        "struck": bool(row["superseded_by"]),
        "who": f"by {row['decided_by']} ({row['role']}){words.beside(row)}, "
        f"{told_at(row['decided_at'])}",
        "reason": row["reason"],
        "limited": words.limited(row),
        "standing": [
            one
            for one in (
                words.correction(row),
                words.how(row),
                "" if under is None else signed_under(under),
                _evidence(row["evidence"]),
            )
            if one
        ],
        "signatures": [] if asked is None else [signature(one) for one in asked.signatures],
    }


def _evidence(snapshot: str) -> str:
    """What the evidence said when a decision was signed."""
    if not snapshot:
        return ""
    return f"The evidence when it was signed: {json.loads(snapshot)['sentence']}"


def told_at(at: datetime) -> str:
    """A moment with its zone; a day where no more is known."""
    when = utc(at)
    if (when.hour, when.minute, when.second) == (0, 0, 0):
        return day(when)
    return moment(when)
