"""Receipts: every file that was taken in, with its bytes, and the rows of it that were held."""

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

import pandas as pd

from spc.errors import UnknownName
from spc.store.file.cursors import Cursor, records
from spc.store.record import audit, rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipt:
    """What became of a file; rows = stored + held + known.

    Attributes
    ----------
    receipt
        Its name: the start of the file's SHA-256.
    kind
        ``"rows"``, ``"catalogue"`` or ``"profile"``.
    stored, held, known
        Rows that brought something new, that wait for a person, that said nothing new.
    results
        Single results that the stored rows brought.
    created_lots
        Lots that the stored rows announced.
    again
        Whether these very bytes had been received before, so that nothing changed.
    """

    receipt: str
    name: str
    sha256: str
    kind: str
    profile: str
    received_by: str
    received_at: datetime
    rows: int
    stored: int
    held: int
    known: int
    results: int
    created_lots: tuple[str, ...] = ()
    again: bool = False


COLUMNS: Final = (
    "receipt, name, sha256, kind, profile, received_by, received_at, rows, stored, held, known,"
    " results"
)

BY_SHA: Final = f"select {COLUMNS} from receipt where sha256 = $sha256"  # noqa: S608

EVERY: Final = f"""
    select {COLUMNS}, count(held_row.source_row) as still_held
    from receipt
    left join (
        select receipt as held_receipt, source_row
        from held_row
        anti join held_row_end using (receipt, source_row)
    ) as held_row on held_receipt = receipt
    group by all
    order by received_at desc, name desc
"""  # noqa: S608

HELD: Final = """
    select
        held_row.receipt,
        receipt.name,
        held_row.source_row,
        held_row.lot,
        held_row.code,
        held_row.reason,
        held_row.remedy,
        held_row.original,
        receipt.received_at
    from held_row
    join receipt using (receipt)
    anti join held_row_end using (receipt, source_row)
    where $receipt = '' or held_row.receipt = $receipt
    order by receipt.received_at, receipt.name, held_row.source_row
"""

# A lot that is not in the store because the row that names it waits for something else.
AWAITED: Final = """
    select held_row.lot, first(receipt.name order by receipt.received_at)
    from held_row
    join receipt using (receipt)
    anti join held_row_end using (receipt, source_row)
    anti join lot using (lot)
    where held_row.lot <> '' and held_row.code <> 'unknown-lot'
    group by held_row.lot
"""


def by_sha(cursor: Cursor, sha256: str) -> Receipt | None:
    """The receipt of these very bytes, if they came before."""
    found = records(cursor, BY_SHA, {"sha256": sha256})
    return Receipt(**found[0]) if found else None


def as_known(receipt: Receipt) -> Receipt:
    """The receipt of a file that came again: every row is known and nothing changed."""
    return replace(
        receipt, stored=0, held=0, known=receipt.rows, results=0, created_lots=(), again=True
    )


def insert(cursor: Cursor, receipt: Receipt, *, content: bytes, version: int) -> None:
    """Keep a receipt with the file's bytes."""
    told = {name: getattr(receipt, name) for name in COLUMNS.split(", ")}
    rows.insert(cursor, "receipt", [{**told, "bytes": content, "version": version}])


def every(cursor: Cursor) -> pd.DataFrame:
    """All receipts, newest first, with how many of their rows are still held."""
    return cursor.execute(EVERY).df()


def content(cursor: Cursor, receipt: str) -> tuple[str, bytes, str, int]:
    """Name, bytes, profile and profile version of a receipt.

    Raises
    ------
    UnknownName
        If there is no such receipt.
    """
    row = cursor.execute(
        "select name, bytes, profile, version from receipt where receipt = ?", [receipt]
    ).fetchone()
    if row is None:
        known = [name for (name,) in cursor.execute("select receipt from receipt").fetchall()]
        raise UnknownName("receipt", receipt, known=known)
    return row[0], row[1], row[2], row[3]


def held(cursor: Cursor, receipt: str = "") -> pd.DataFrame:
    """Rows that still wait for a person, oldest first."""
    return cursor.execute(HELD, {"receipt": receipt}).df()


def awaited(cursor: Cursor) -> dict[str, str]:
    """Lots that only a row names which waits itself, with the name of its file."""
    return dict(cursor.execute(AWAITED).fetchall())


def end(
    cursor: Cursor, receipt: str, source_rows: list[int], *, how: str, by: str, reason: str
) -> None:
    """Note what became of held rows."""
    frame = pd.DataFrame({"source_row": pd.array(source_rows, dtype="int64")}).assign(
        receipt=receipt,
        how=how,
        ended_by=by,
        reason=reason,
        ended_at=audit.moment(cursor),
    )
    rows.append(cursor, "held_row_end", frame)
