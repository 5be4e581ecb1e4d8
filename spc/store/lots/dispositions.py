"""Dispositions: what a named person decided of a lot, on what evidence."""

import json
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Any, Final

import pandas as pd

from spc.acceptance import LotVerdict
from spc.errors import DispositionRefused
from spc.intake.checks.novelty import novelty
from spc.intake.decisions import DECISION_FACTS, DECISIONS
from spc.store.file.connection import Cursor, now
from spc.store.record import audit

# Which decision may follow which; the empty one is a lot nobody has decided on yet.  A release is
# final: what has gone into production cannot be put on hold, only recalled, which is not a
# disposition of a raw-material lot.
MOVES: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "": DECISIONS,
        "on hold": DECISIONS,
        "sent to rework": DECISIONS,
        "restricted to blend": ("rejected",),
        "accepted": (),
        "accepted under concession": (),
        "rejected": (),
    }
)

# Decisions that let a lot into production, and those of them that hold for a use and a time only.
RELEASING: Final = ("accepted", "accepted under concession", "restricted to blend")
LIMITED: Final = ("accepted under concession", "restricted to blend")

EVERY: Final = """
    select *
    from disposition
    where $lot = '' or lot = $lot
    order by decided_at, disposition
"""

INSERT: Final = "insert into disposition by name select * from fresh"


@dataclass(frozen=True, slots=True, kw_only=True)
class Signature:
    """Who decides what, and why.

    Attributes
    ----------
    second_person
        Needed for a concession, for a restriction, and for accepting against the recommendation;
        another person.
    scope, expires_on
        What a concession or a restriction allows, and the ISO date until which.
    """

    decision: str
    by: str
    role: str
    reason: str
    second_person: str = ""
    scope: str = ""
    expires_on: str = ""


def check(lot: str, signature: Signature, verdict: LotVerdict, *, before: str) -> None:
    """Refuse a decision that the rules of release do not allow.

    Raises
    ------
    DispositionRefused
        With the rule that stands against it and what to do instead.
    """
    for broken in (
        _broken_form(signature),
        _broken_move(signature, before),
        _broken_safety(signature, verdict),
        _broken_concession(signature, verdict),
    ):
        if broken is not None:
            what, remedy = broken
            raise DispositionRefused(what, where=f"lot {lot}", remedy=remedy)


def sign(cursor: Cursor, lot: str, signature: Signature, *, evidence: Mapping[str, Any]) -> str:
    """Write a decision with its evidence into the record and the audit chain."""
    name = str(uuid.uuid4())
    snapshot = audit.canonical(evidence)
    decided = now()
    cursor.execute(
        "insert into disposition values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, '')",
        [
            name,
            lot,
            signature.decision,
            signature.by.strip(),
            signature.role.strip(),
            signature.reason.strip(),
            signature.second_person.strip(),
            signature.scope.strip(),
            signature.expires_on.strip(),
            decided,
            snapshot,
        ],
    )
    audit.record(
        cursor,
        actor=signature.by.strip(),
        action=f"signed: {signature.decision}",
        subject=lot,
        detail={
            "disposition": name,
            "decision": signature.decision,
            "role": signature.role.strip(),
            "reason": signature.reason.strip(),
            "second_person": signature.second_person.strip(),
            "scope": signature.scope.strip(),
            "expires_on": signature.expires_on.strip(),
            "decided_at": decided.isoformat(timespec="microseconds"),
            "evidence": evidence,
        },
    )
    return name


def status(cursor: Cursor, said: pd.DataFrame) -> pd.Series:
    """New, known or changed, for each earlier decision that a file reports."""
    existing = _keyed(cursor.execute(EVERY, {"lot": ""}).df())
    return novelty(_keyed(said), existing, key="key", facts=DECISION_FACTS)


def insert(cursor: Cursor, fresh: pd.DataFrame, *, receipt: str) -> None:
    """Add decisions that were taken before the store was kept; their evidence is not with us."""
    if fresh.empty:
        return
    numbered = fresh.reset_index()
    numbered["disposition"] = receipt + "-" + numbered["source_row"].astype("str").str.zfill(7)
    numbered = numbered.drop(columns="source_row").assign(
        evidence="", receipt=receipt, scope="", expires_on=""
    )
    cursor.register("fresh", numbered)
    cursor.execute(INSERT)
    cursor.unregister("fresh")


def every(cursor: Cursor, lot: str = "") -> pd.DataFrame:
    """Decisions on one lot or on all, oldest first."""
    return cursor.execute(EVERY, {"lot": lot}).df()


def faults(cursor: Cursor) -> tuple[int, list[str]]:
    """Compare every decision signed here with its entry in the audit chain."""
    said = {
        detail["disposition"]: (actor, subject, detail)
        for actor, subject, detail in (
            (actor, subject, json.loads(text))
            for actor, subject, text in cursor.execute(
                "select actor, subject, detail from audit where action like 'signed: %'"
            ).fetchall()
        )
    }
    signed = cursor.execute("select * from disposition where receipt = ''").df()
    found = [
        f"disposition {row.disposition} of lot {row.lot} differs from its audit entry."
        for row in signed.itertuples()
        if not _matches(row, said.pop(row.disposition, None))
    ]
    found += [f"disposition {name} is in the audit chain only." for name in said]
    return len(signed), found


def _matches(row: Any, entry: tuple[str, str, dict[str, Any]] | None) -> bool:
    if entry is None:
        return False
    actor, subject, detail = entry
    facts = ("decision", "role", "reason", "second_person", "scope", "expires_on")
    return (
        (row.decided_by, row.lot) == (actor, subject)
        and all(getattr(row, fact) == detail[fact] for fact in facts)
        and row.decided_at.isoformat(timespec="microseconds") == detail["decided_at"]
        and row.evidence == audit.canonical(detail["evidence"])
    )


def _keyed(said: pd.DataFrame) -> pd.DataFrame:
    day = pd.to_datetime(said["decided_at"]).dt.strftime("%Y-%m-%d")
    return said.assign(key=said["lot"] + "|" + day.fillna(""))


def _broken_form(signature: Signature) -> tuple[str, str] | None:
    if signature.decision not in DECISIONS:
        return (
            f"{signature.decision!r} is no decision.",
            f"Choose one of: {', '.join(DECISIONS)}.",
        )
    missing: Sequence[str] = [
        name
        for name, text in (
            ("name", signature.by),
            ("role", signature.role),
            ("reason", signature.reason),
        )
        if not text.strip()
    ]
    if missing:
        return (
            f"the decision has no {' and no '.join(missing)}.",
            "A decision stands with the name, the role and the reason of the one who takes it.",
        )
    return None


def _broken_move(signature: Signature, before: str) -> tuple[str, str] | None:
    if signature.decision in MOVES[before]:
        return None
    return (
        f"the lot is {before} already.",
        "That decision stands; open an investigation outside this record if it was wrong.",
    )


def _broken_safety(signature: Signature, verdict: LotVerdict) -> tuple[str, str] | None:
    if signature.decision not in RELEASING:
        return None
    for judged in verdict.lines:
        if judged.line.safety and judged.outcome != "conforming":
            return (
                f"the safety line {judged.line.characteristic} is {judged.outcome}.",
                "A safety line is never conceded. Hold or reject the lot; local food law and a"
                " qualified person decide what becomes of it.",
            )
    return None


def _broken_concession(signature: Signature, verdict: LotVerdict) -> tuple[str, str] | None:
    if signature.decision in LIMITED:
        return _broken_scope(signature) or _broken_second(signature, "It")
    if signature.decision != "accepted" or verdict.recommendation == "accept":
        return None
    if verdict.recommendation == "reject":
        return (
            "a line of the specification does not conform.",
            "Reject it, hold it, or accept it under concession with a second person.",
        )
    return _broken_second(signature, "Accepting a lot whose evidence says hold")


def _broken_scope(signature: Signature) -> tuple[str, str] | None:
    if not signature.scope.strip():
        return (
            f"{signature.decision!r} has no scope.",
            "Say for which use, product or quantity it holds.",
        )
    try:
        date.fromisoformat(signature.expires_on.strip())
    except ValueError:
        return (
            f"{signature.decision!r} has no date until which it holds.",
            "Give a date such as 2027-01-31.",
        )
    return None


def _broken_second(signature: Signature, what: str) -> tuple[str, str] | None:
    second = signature.second_person.strip()
    if not second:
        return (f"{what} needs a second person.", "Name the second person.")
    if second.casefold() == signature.by.strip().casefold():
        return (f"{what} needs a second person, not {second} twice.", "Name another person.")
    return None
