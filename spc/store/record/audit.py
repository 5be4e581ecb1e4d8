"""The audit chain: who did what and when, each entry sealed with the one before.

The number of an entry is the order of what happened; times only tell.  The time of an entry never
lies before that of the one before it, whatever the machine's clock says; what it said is kept where
it lay earlier.
"""

import hashlib
import json
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any, Final

import pandas as pd

from spc.store.file.cursors import Cursor, now
from spc.store.file.migrations import steps
from spc.store.record import seals

FIRST: Final = "0" * 64

# The action of the entry that seals what stood in a store when the schema took a step.
FOUND: Final = "sealed as found"

# A clock that is set right by less than this is not spoken of.
NOTICED: Final = timedelta(seconds=1)

LAST_ENTRY: Final = """
    select sequence, entered_at, hash
    from audit
    order by sequence desc
    limit 1
"""

NEWEST: Final = """
    select sequence, entered_at, clock, actor, action, subject, detail, hash
    from audit
    where $subject = '' or subject = $subject
    order by sequence desc
    limit $most
"""

INSERT: Final = """
    insert into audit (
        sequence, entered_at, actor, action, subject, detail, previous, hash, clock, sealed
    )
    values (
        $sequence, $entered_at, $actor, $action, $subject, $detail, $previous, $hash, $clock,
        $sealed
    )
"""


def record(
    cursor: Cursor,
    *,
    actor: str,
    action: str,
    subject: str,
    detail: Mapping[str, Any],
    found: bool = False,
) -> None:
    """Append one entry, inside the transaction of the write it describes.

    It seals every row that was written since the entry before it.

    Parameters
    ----------
    found
        Whether it seals everything in the store as it stands; for a step of the schema only.
    """
    number, previous, last = _next(cursor)
    clock = now()
    behind = last is not None and last - clock > NOTICED
    said = {
        "sequence": number,
        "entered_at": max(clock, last or clock),
        "actor": actor,
        "action": action,
        "subject": subject,
        "detail": canonical(detail),
        "previous": previous,
        "clock": clock if behind else None,
        "sealed": canonical(
            {
                "step": steps()[-1].number,
                "rows": seals.sealed(cursor, number, first=0 if found else None),
            }
        ),
    }
    cursor.execute(INSERT, {**said, "hash": sealed(said)})


def upcoming(cursor: Cursor) -> int:
    """The number of the next entry: the one that what is written now stands under."""
    row = cursor.execute("select max(sequence) from audit").fetchone()
    return 1 if row is None or row[0] is None else int(row[0]) + 1


def moment(cursor: Cursor) -> datetime:
    """The present moment of a store, UTC without zone: never before its last entry."""
    _, _, last = _next(cursor)
    clock = now()
    return max(clock, last or clock)


def canonical(detail: Mapping[str, Any]) -> str:
    """One text for one meaning: sorted keys, no blanks."""
    return json.dumps(detail, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def sealed(said: Mapping[str, Any]) -> str:
    """SHA-256 of an entry with its predecessor's.

    Entries from before rows had an entry are hashed as they were then.
    """
    at = said["entered_at"].isoformat(timespec="microseconds")
    texts = [said[name] for name in ("actor", "action", "subject", "detail")]
    if not said["sealed"] and said["clock"] is None:
        parts = [str(said["sequence"]), at, *texts, said["previous"]]
        return hashlib.sha256("\x1f".join(parts).encode()).hexdigest()
    clock = said["clock"] and said["clock"].isoformat(timespec="microseconds")
    told = [said["sequence"], at, clock, *texts, said["sealed"], said["previous"]]
    return hashlib.sha256(json.dumps(told, separators=(",", ":")).encode()).hexdigest()


def length(cursor: Cursor) -> int:
    """The number of the last entry; 0 in an empty store."""
    return upcoming(cursor) - 1


def newest(cursor: Cursor, *, subject: str = "", most: int = 200) -> pd.DataFrame:
    """The last entries, newest first, of one subject or of all.

    Returns
    -------
    DataFrame
        Columns sequence, entered_at, clock (what the machine's clock said, where it lay before the
        entry before), actor, action, subject, detail, hash.
    """
    return cursor.execute(NEWEST, {"subject": subject, "most": most}).df()


def _next(cursor: Cursor) -> tuple[int, str, datetime | None]:
    """Number and predecessor of the next entry, and the time of the last."""
    last = cursor.execute(LAST_ENTRY).fetchone()
    return (last[0] + 1, last[2], last[1]) if last else (1, FIRST, None)
