"""The audit chain: who did what and when, each entry sealed with the one before."""

import hashlib
import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

import pandas as pd

from spc.store.file.connection import Cursor, now

FIRST: Final = "0" * 64

LAST_ENTRY: Final = "select sequence, hash from audit order by sequence desc limit 1"

ENTRIES: Final = """
    select sequence, entered_at, actor, action, subject, detail, previous, hash
    from audit
    order by sequence
"""

NEWEST: Final = """
    select sequence, entered_at, actor, action, subject, detail, hash
    from audit
    where $subject = '' or subject = $subject
    order by sequence desc
    limit $most
"""


def record(
    cursor: Cursor, *, actor: str, action: str, subject: str, detail: Mapping[str, Any]
) -> None:
    """Append one entry, inside the transaction of the write it describes."""
    last = cursor.execute(LAST_ENTRY).fetchone()
    sequence, previous = (last[0] + 1, last[1]) if last else (1, FIRST)
    at = now()
    text = canonical(detail)
    seal = sealed(sequence, at, (actor, action, subject, text), previous)
    cursor.execute(
        "insert into audit values (?, ?, ?, ?, ?, ?, ?, ?)",
        [sequence, at, actor, action, subject, text, previous, seal],
    )


def canonical(detail: Mapping[str, Any]) -> str:
    """One text for one meaning: sorted keys, no blanks."""
    return json.dumps(detail, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def sealed(sequence: int, at: datetime, said: tuple[str, ...], previous: str) -> str:
    """SHA-256 of an entry with its predecessor's."""
    parts = [str(sequence), at.isoformat(timespec="microseconds"), *said, previous]
    return hashlib.sha256("\x1f".join(parts).encode()).hexdigest()


def faults(cursor: Cursor) -> tuple[int, list[str]]:
    """How many entries were checked, and what is wrong with the chain."""
    found: list[str] = []
    previous, expected = FIRST, 1
    rows = cursor.execute(ENTRIES).fetchall()
    for sequence, at, actor, action, subject, detail, before, seal in rows:
        if sequence != expected:
            found.append(f"audit entry {expected} is missing.")
        if before != previous:
            found.append(f"audit entry {sequence} does not follow the one before it.")
        if seal != sealed(sequence, at, (actor, action, subject, detail), before):
            found.append(f"audit entry {sequence} ({action} {subject}) was changed.")
        previous, expected = seal, sequence + 1
    return len(rows), found


def length(cursor: Cursor) -> int:
    """The number of the last entry; 0 in an empty store."""
    last = cursor.execute(LAST_ENTRY).fetchone()
    return int(last[0]) if last else 0


def newest(cursor: Cursor, *, subject: str = "", most: int = 200) -> pd.DataFrame:
    """The last entries, newest first, of one subject or of all."""
    return cursor.execute(NEWEST, {"subject": subject, "most": most}).df()
