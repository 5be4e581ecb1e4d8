"""What verification of ten thousand entries of the audit chain costs, and of a million results.

Run as ``python -m tests.bench.bench_verify``; it is not part of the tests.  Yardstick: every row of
the chain and of what it seals, fetched as Python objects and hashed once as JSON; it compares
nothing.  The bar of the issue is 2 s of compute for 10 000 entries.
"""

import hashlib
import json
import tempfile
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, Final

import pandas as pd

from spc.store import Store
from spc.store.file.appending import framed
from spc.store.file.cursors import Cursor
from spc.store.file.migrations import steps
from spc.store.record import audit, chain, sealed_rows, seals

ENTRIES: Final = 10_000
RESULTS: Final = 1_000_000
BAR_SECONDS: Final = 2.0
_RUNS: Final = 3
_FIRST: Final = datetime(2026, 1, 1)  # noqa: DTZ001 - moments in a store are UTC without zone

# Evidence as long as that of a lot with five lines.
EVIDENCE: Final = json.dumps([{"line": n, "sentence": "x" * 180, "value": n / 7} for n in range(5)])


def decided(cursor: Cursor) -> None:
    """One decision an entry, and the token of its write."""
    numbers = pd.Series(range(1, ENTRIES + 1))
    at = [_FIRST + timedelta(minutes=int(number)) for number in numbers]
    lots = "L-" + (numbers % 500).astype(str)
    named = {"lot": lots, "decision": "on hold", "decided_by": "Mara Quill", "role": "QA"}
    texts = {"reason": "await toxins", "second_person": "", "scope": "", "expires_on": ""}
    keys = "d" + numbers.astype(str)
    _append(
        cursor,
        "disposition",
        pd.DataFrame({"disposition": keys, **named, **texts, "decided_at": at}).assign(
            evidence=EVIDENCE, receipt="", entry=numbers
        ),
    )
    tokens = {"token": "t" + numbers.astype(str), "applied_at": at, "entry": numbers}
    _append(cursor, "applied", pd.DataFrame(tokens))
    _append(cursor, "audit", pd.DataFrame(_entries(cursor, at, lots.tolist())))


def _entries(cursor: Cursor, at: list[datetime], lots: list[str]) -> list[dict[str, Any]]:
    step = steps()[-1].number
    rows = {
        table: seals.standing(cursor, table, found_until=0, step=step)
        for table in ("applied", "disposition")
    }
    told, previous = [], audit.FIRST
    for number, (moment, lot) in enumerate(zip(at, lots, strict=True), start=1):
        sealed = {table: standing[number] for table, standing in rows.items()}
        one = {
            "sequence": number,
            "entered_at": moment,
            "actor": "Mara Quill",
            "action": "signed: on hold",
            "subject": lot,
            "detail": audit.canonical({"evidence": EVIDENCE}),
            "previous": previous,
            "clock": None,
            "sealed": audit.canonical({"step": step, "rows": sealed}),
        }
        previous = one["hash"] = audit.sealed(one)
        told.append(one)
    return told


def measured(cursor: Cursor) -> None:
    """Many results under one entry, as one long file brings them."""
    cursor.execute(
        """
        insert into result
        select
            'r' || n, 'abcdef123456', n, 'L-' || n % 500, 'heat', 'rapid sensor', 1,
            (n % 40)::varchar, (n % 3)::varchar, timestamp '2026-03-04 10:00:00', '', 's1',
            'b' || n % 9, '8.' || n % 97, '=', 8 + n % 97 / 100, 'µmol/L', '{}', 10, 0.1, 10,
            '{"total":16.0}', 'as-is', 1000.5 * (n % 97), 1000.5 * (n % 97), 'SHU',
            'L-' || n % 500 || '|heat|rapid sensor|' || n, null, '', 1
        from range($rows) as rows (n)
        """,
        {"rows": RESULTS},
    )


def _append(cursor: Cursor, table: str, frame: pd.DataFrame) -> None:
    with framed(cursor, frame):
        cursor.execute(f"insert into {table} by name select * from frame")  # noqa: S608


def fastest(work: Callable[[], object]) -> float:
    """CPU seconds of the fastest of several runs."""
    times = []
    for _ in range(_RUNS):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def fetched(cursor: Cursor, *tables: str) -> None:
    """The yardstick."""
    for table in tables:
        for row in cursor.execute(f"select * from {table}").fetchall():  # noqa: S608
            hashlib.sha256(json.dumps(row, default=str).encode()).digest()


def main() -> None:
    """Print the seconds and the ratios."""
    step = steps()[-1].number
    with tempfile.TemporaryDirectory() as folder, Store.open(Path(folder) / "lots.db") as store:
        with store._connection.supposing() as cursor:
            decided(cursor)
            assert chain.read(cursor, step=step).faults == []
        with store._connection.supposing() as cursor:
            decided(cursor)
            bare = fastest(lambda: fetched(cursor, "audit", "disposition", "applied"))
            took = fastest(
                lambda: sealed_rows.faults(cursor, chain.read(cursor, step=step), step=step)
            )
        with store._connection.supposing() as cursor:
            measured(cursor)
            many = fastest(
                lambda: seals.standing(cursor, "result", found_until=0, step=step),
            )
            rows = fastest(lambda: fetched(cursor, "result"))
    fits = "within" if took <= BAR_SECONDS else "BEYOND"
    print(  # noqa: T201
        f"{ENTRIES:,} entries   {took:5.2f} s, {took / bare:4.1f} x the yardstick,"
        f" {fits} the bar of {BAR_SECONDS:g} s\n"
        f"{RESULTS:,} results {many:5.2f} s, {many / rows:4.1f} x the yardstick"
    )


if __name__ == "__main__":
    main()
