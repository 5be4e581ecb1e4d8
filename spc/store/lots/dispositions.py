"""Dispositions: what a named person decided of a lot, on what evidence."""

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Any, Final

import pandas as pd

from spc.acceptance import LotVerdict
from spc.acceptance.evidence.flags import AGAINST_SAFETY
from spc.errors import DispositionRefused
from spc.intake.checks.novelty import novelty
from spc.intake.decisions import DECISION_FACTS, DECISIONS
from spc.store.file.cursors import Cursor
from spc.store.record import audit, rows

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
    select decision_in_order.* exclude (entry, turn), audit.clock
    from decision_in_order
    left join audit on audit.sequence = decision_in_order.entry
                   and decision_in_order.receipt = ''
    where $lot = '' or lot = $lot
    order by turn
"""


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
    decided = audit.moment(cursor)
    row = {
        "disposition": name,
        "lot": lot,
        "decision": signature.decision,
        "decided_by": signature.by.strip(),
        "role": signature.role.strip(),
        "reason": signature.reason.strip(),
        "second_person": signature.second_person.strip(),
        "scope": signature.scope.strip(),
        "expires_on": signature.expires_on.strip(),
        "decided_at": decided,
        "evidence": snapshot,
        "receipt": "",
    }
    rows.insert(cursor, "disposition", [row])
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
    rows.append(cursor, "disposition", numbered)


def every(cursor: Cursor, lot: str = "") -> pd.DataFrame:
    """Decisions on one lot or on all, in the order in which they count.

    `clock` is what the machine's clock said, where it had gone back.
    """
    return cursor.execute(EVERY, {"lot": lot}).df()


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
    against = [one.sentence for one in verdict.flags if one.name == AGAINST_SAFETY]
    if against:
        return (
            f"something stands against its safety: {against[0]}",
            "Have the row settled on Intake, or the same measured again by a reference method.",
        )
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
