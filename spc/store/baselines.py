"""Baselines: the lots that a stream's limits rest on, frozen and versioned."""

import json
import uuid
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Final

import pandas as pd

from spc.errors import InvalidInput, TooFewLots
from spc.store import audit
from spc.store.connection import Cursor, now
from spc.store.streams import KEY, StreamKey

FEWEST_LOTS: Final = 2

NEWEST: Final = """
    select *
    from baseline
    qualify row_number() over (
        partition by material, supplier, characteristic, method order by version desc
    ) = 1
"""


def frozen(cursor: Cursor) -> dict[StreamKey, tuple[str, ...]]:
    """The lots of every stream whose baseline a person froze, newest version."""
    rows = cursor.execute(NEWEST).df()
    return {
        StreamKey(**{name: str(getattr(row, name)) for name in KEY}): tuple(
            json.loads(str(row.lots))
        )
        for row in rows.itertuples()
    }


def history(cursor: Cursor, key: StreamKey) -> pd.DataFrame:
    """Every version of a stream's baseline, newest first."""
    return cursor.execute(
        """
        select version, lots, left_out, frozen_by, reason, frozen_at
        from baseline
        where material = $material and supplier = $supplier
          and characteristic = $characteristic and method = $method
        order by version desc
        """,
        asdict(key),
    ).df()


def faults(cursor: Cursor) -> tuple[int, list[str]]:
    """Compare every baseline with its entry in the audit chain."""
    said = Counter(
        (subject, actor, audit.canonical(json.loads(detail)))
        for subject, actor, detail in cursor.execute(
            "select subject, actor, detail from audit where action = 'froze a baseline'"
        ).fetchall()
    )
    kept = Counter(
        (
            ", ".join(str(getattr(row, name)) for name in KEY),
            str(row.frozen_by),
            audit.canonical(
                {
                    "lots": json.loads(str(row.lots)),
                    "left_out": json.loads(str(row.left_out)),
                    "reason": str(row.reason),
                    "version": int(str(row.version)),
                }
            ),
        )
        for row in cursor.execute("select * from baseline").df().itertuples()
    )
    differing = sorted({subject for subject, *_ in (*(kept - said), *(said - kept))})
    return kept.total(), [
        f"the baseline of {subject} differs from its audit entry." for subject in differing
    ]


def freeze(
    cursor: Cursor,
    key: StreamKey,
    *,
    lots: Sequence[str],
    left_out: Mapping[str, str],
    by: str,
    reason: str,
) -> int:
    """Freeze the lots of a stream's baseline as its next version.

    Raises
    ------
    InvalidInput
        If the name, the reason, or the reason for leaving out a lot is empty.
    TooFewLots
        If fewer than two lots are named.
    """
    unsaid = [lot for lot, why in left_out.items() if not why.strip()]
    if not by.strip() or not reason.strip() or unsaid:
        raise InvalidInput(
            "a name, a reason, and a reason for each lot left out are needed.",
            where="baseline",
            remedy="Say who freezes it and why; the limits will be asked about.",
        )
    if len(lots) < FEWEST_LOTS:
        raise TooFewLots(needed=FEWEST_LOTS, given=len(lots), where="baseline")
    versions = history(cursor, key)["version"]
    version = 1 if versions.empty else int(versions.max()) + 1
    stated = {"lots": list(lots), "left_out": dict(left_out), "reason": reason.strip()}
    cursor.execute(
        "insert into baseline values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        [
            str(uuid.uuid4()),
            *asdict(key).values(),
            version,
            json.dumps(stated["lots"]),
            json.dumps(stated["left_out"]),
            by.strip(),
            reason.strip(),
            now(),
        ],
    )
    audit.record(
        cursor,
        actor=by.strip(),
        action="froze a baseline",
        subject=", ".join(asdict(key).values()),
        detail={**stated, "version": version},
    )
    return version
