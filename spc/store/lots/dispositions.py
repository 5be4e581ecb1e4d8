"""Dispositions: what a named person decided of a lot, on what evidence."""

import uuid
from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

import pandas as pd

from spc.intake.checks.novelty import novelty
from spc.intake.decisions import DECISION_FACTS
from spc.store.file.cursors import Cursor
from spc.store.lots.release import Decision
from spc.store.people import Actor, Request
from spc.store.record import audit, rows

EVERY: Final = """
    select decision_in_order.* exclude (entry, turn), audit.clock
    from decision_in_order
    left join audit on audit.sequence = decision_in_order.entry
                   and decision_in_order.receipt = ''
    where $lot = '' or lot = $lot
    order by turn
"""


LATEST: Final = """
    select disposition
    from decision_in_order
    where lot = $lot
    order by turn desc
    limit 1
"""


def write(
    cursor: Cursor,
    request: Request,
    decided: Decision,
    *,
    actor: Actor,
    evidence: Mapping[str, Any],
    at: datetime,
) -> str:
    """Write a decision that everybody signed who must, with its evidence; returns its name.

    Parameters
    ----------
    actor
        Who signed it last.
    """
    name, first = str(uuid.uuid4()), request.signatures[0]
    told = {
        "disposition": name,
        "decision": decided.decision,
        "role": first.role,
        "reason": request.reason,
        "second_person": request.beside,
        "scope": decided.scope.strip(),
        "expires_on": decided.expires_on.strip(),
    }
    row = {
        **told,
        "lot": request.subject,
        "decided_by": first.name,
        "decided_at": at,
        "evidence": audit.canonical(evidence),
        "receipt": "",
    }
    rows.insert(cursor, "disposition", [row])
    audit.record(
        cursor,
        actor=actor.name,
        action=f"signed: {decided.decision}",
        subject=request.subject,
        detail={
            **told,
            "request": request.request,
            "evidence": evidence,
            "decided_by": first.name,
            "decided_at": at.isoformat(timespec="microseconds"),
            "by": actor.told(),
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


def latest(cursor: Cursor, lot: str) -> str:
    """The name of the decision that counts; empty if nobody has decided on the lot."""
    row = cursor.execute(LATEST, {"lot": lot}).fetchone()
    return str(row[0]) if row else ""


def _keyed(said: pd.DataFrame) -> pd.DataFrame:
    day = pd.to_datetime(said["decided_at"]).dt.strftime("%Y-%m-%d")
    return said.assign(key=said["lot"] + "|" + day.fillna(""))
