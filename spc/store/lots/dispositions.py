"""Dispositions: what a named person decided of a lot, on what evidence."""

import uuid
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

import numpy as np
import pandas as pd

from spc.acceptance import LotVerdict
from spc.errors import UnknownName
from spc.intake.checks.novelty import novelty
from spc.intake.decisions import DECISION_FACTS
from spc.store.file.cursors import Cursor
from spc.store.lots import judgement
from spc.store.lots.release import Decision
from spc.store.people import Actor, Request
from spc.store.record import audit, rows

# Those of an earlier version stand with the names that somebody typed.
EVERY: Final = """
    select
        decision_in_order.* exclude (entry, turn),
        case
            when decision_in_order.receipt <> '' then 'from before the record, as received'
            when decision_in_order.request = ''  then 'typed, not signed in'
            else 'signed'
        end                                      as how,
        coalesce(correction.disposition, '')     as superseded_by,
        audit.clock
    from decision_in_order
    left join disposition as correction on correction.corrects = decision_in_order.disposition
    left join audit on audit.sequence = decision_in_order.entry
                   and decision_in_order.receipt = ''
    where $lot = '' or decision_in_order.lot = $lot
    order by turn
"""

# What a file does not tell of a decision.
_NOT_TOLD: Final = (
    "evidence",
    "scope",
    "expires_on",
    "person",
    "second",
    "way",
    "request",
    "corrects",
    "specification_approved_by",
)

LATEST: Final = """
    select disposition
    from decision_in_order
    where lot = $lot
    order by turn desc
    limit 1
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signed:
    """A decision that everybody signed who must.

    Attributes
    ----------
    evidence
        The verdict it was signed on.
    approved_at
        When the version of the specification was approved, that it was signed under; None where
        that is not known.
    """

    request: Request
    decided: Decision
    judged: LotVerdict
    approved_at: datetime | None


def write(cursor: Cursor, signed: Signed, *, actor: Actor, at: datetime) -> str:
    """Write a decision with its evidence into the record; returns its name.

    Parameters
    ----------
    actor
        Who signed it last.
    """
    request, decided = signed.request, signed.decided
    name, evidence = str(uuid.uuid4()), judgement.snapshot(signed.judged)
    told: dict[str, Any] = {
        "disposition": name,
        "lot": request.subject,
        **_signed_by(request),
        **_decided(decided),
        "reason": request.reason,
        "receipt": "",
        "specification_version": signed.judged.specification.version,
        "specification_approved_by": signed.judged.specification.approved_by,
    }
    times = {"decided_at": at, "specification_approved_at": signed.approved_at}
    row = told | times | {"evidence": audit.canonical(evidence)}
    rows.insert(cursor, "disposition", [row])
    audit.record(
        cursor,
        actor=actor.name,
        action=f"{'corrected' if decided.corrects else 'signed'}: {decided.decision}",
        subject=request.subject,
        detail=told
        | {name: time and time.isoformat(timespec="microseconds") for name, time in times.items()}
        | {"evidence": evidence, "by": actor.told()},
    )
    return name


def _signed_by(request: Request) -> dict[str, str]:
    first = request.signatures[0]
    second = request.signatures[1].person if len(request.signatures) > 1 else ""
    return {
        "decided_by": first.name,
        "role": first.role,
        "person": first.person,
        "way": first.way,
        "second_person": request.beside,
        "second": second,
        "request": request.request,
    }


def _decided(decided: Decision) -> dict[str, str]:
    return {
        "decision": decided.decision,
        "scope": decided.scope.strip(),
        "expires_on": decided.expires_on.strip(),
        "corrects": decided.corrects,
    }


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
        receipt=receipt,
        specification_version=0,
        specification_approved_at=np.datetime64("NaT"),
        **dict.fromkeys(_NOT_TOLD, ""),
    )
    rows.append(cursor, "disposition", numbered)


def every(cursor: Cursor, lot: str = "") -> pd.DataFrame:
    """Decisions on one lot or on all, in the order in which they count.

    `clock` is what the machine's clock said, where it had gone back; `how` says whether it was
    signed, typed in an earlier version, or received as history; `superseded_by` names its
    correction.
    """
    return cursor.execute(EVERY, {"lot": lot}).df()


def lot_of(cursor: Cursor, disposition: str) -> str:
    """The lot that a decision is about.

    Raises
    ------
    UnknownName
        If there is no such decision.
    """
    row = cursor.execute(
        "select lot from disposition where disposition = $name", {"name": disposition}
    ).fetchone()
    if row is None:
        raise UnknownName("decision", disposition, known=[])
    return str(row[0])


def latest(cursor: Cursor, lot: str) -> str:
    """The name of the decision that counts; empty if nobody has decided on the lot."""
    row = cursor.execute(LATEST, {"lot": lot}).fetchone()
    return str(row[0]) if row else ""


def _keyed(said: pd.DataFrame) -> pd.DataFrame:
    day = pd.to_datetime(said["decided_at"]).dt.strftime("%Y-%m-%d")
    return said.assign(key=said["lot"] + "|" + day.fillna(""))
