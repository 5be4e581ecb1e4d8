"""Investigations: what was found out about a signal, by whom, and how it ended."""

import json
import uuid
from collections.abc import Sequence
from dataclasses import asdict
from typing import Final

import pandas as pd

from spc.errors import InvalidInput, UnknownName
from spc.store.file.cursors import Cursor
from spc.store.people.proofs import Actor
from spc.store.record import audit, rows
from spc.store.streams.streams import StreamKey

OF_STREAM: Final = """
    select
        investigation.* exclude (entry),
        coalesce(investigation_end.conclusion, '') as conclusion,
        coalesce(investigation_end.closed_by, '')  as closed_by,
        investigation_end.closed_at
    from investigation
    left join investigation_end using (investigation)
    where material = $material and supplier = $supplier
      and characteristic = $characteristic and method = $method and basis = $basis
    order by investigation.entry desc, opened_at desc
"""

_OPENED: Final = "opened an investigation"
_CLOSED: Final = "closed an investigation"


def of_stream(cursor: Cursor, key: StreamKey) -> pd.DataFrame:
    """Investigations of one stream, newest first; `closed_by` is empty while one is open."""
    return cursor.execute(OF_STREAM, asdict(key)).df()


def start(
    cursor: Cursor,
    key: StreamKey,
    lot: str,
    *,
    signals: Sequence[str],
    found: tuple[str, str],
    by: Actor,
) -> str:
    """Note the cause of a signal and what is done about it; `found` is (cause, action).

    Raises
    ------
    InvalidInput
        If the cause or the action is empty.
    """
    cause, action = (text.strip() for text in found)
    _needed(cause, action)
    name = str(uuid.uuid4())
    told = {
        **asdict(key),
        "lot": lot,
        "signals": json.dumps(list(signals)),
        "cause": cause,
        "action": action,
    }
    opened = {"opened_by": by.name, "opened_at": audit.moment(cursor)}
    rows.insert(cursor, "investigation", [{"investigation": name, **told, **opened}])
    audit.record(
        cursor,
        actor=by.name,
        action=_OPENED,
        subject=lot,
        detail={"name": name, **told, "by": by.told()},
    )
    return name


def close(cursor: Cursor, name: str, *, conclusion: str, by: Actor) -> None:
    """End an investigation.

    Raises
    ------
    InvalidInput
        If the conclusion is empty, or it is closed already.
    UnknownName
        If there is no such investigation.
    """
    _needed(conclusion)
    row = cursor.execute("select lot from investigation where investigation = ?", [name]).fetchone()
    if row is None:
        raise UnknownName("investigation", name, known=[])
    ended = cursor.execute("select 1 from investigation_end where investigation = ?", [name])
    if ended.fetchone():
        raise InvalidInput(
            "it is closed already.",
            where="investigation",
            remedy="Open another if there is more to say.",
        )
    ending = {
        "investigation": name,
        "conclusion": conclusion.strip(),
        "closed_by": by.name,
        "closed_at": audit.moment(cursor),
    }
    rows.insert(cursor, "investigation_end", [ending])
    audit.record(
        cursor,
        actor=by.name,
        action=_CLOSED,
        subject=row[0],
        detail={"name": name, "conclusion": conclusion.strip(), "by": by.told()},
    )


def _needed(*texts: str) -> None:
    if not all(text.strip() for text in texts):
        raise InvalidInput(
            "what was found and done is not said.",
            where="investigation",
            remedy="Say what the cause is, and what is done about it.",
        )
