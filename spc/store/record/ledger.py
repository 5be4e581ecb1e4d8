"""Rows of stock, blends and people: written with their entry in the chain, which tells them."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from types import MappingProxyType
from typing import Any, TypeAlias

from spc.store.file.cursors import Cursor
from spc.store.record import audit, rows

Row: TypeAlias = dict[str, Any]


def post(
    cursor: Cursor,
    written: Mapping[str, Sequence[Row]],
    *,
    actor: str,
    action: str,
    subject: str,
    more: Mapping[str, Any] = MappingProxyType({}),
) -> None:
    """Insert rows, and record them all in one entry of the audit chain.

    Parameters
    ----------
    written
        By table; every column of each.
    more
        What else the entry tells.
    """
    for table, several in written.items():
        rows.insert(cursor, table, several)
    told = {table: [_plain(row) for row in several] for table, several in written.items()}
    audit.record(
        cursor, actor=actor, action=action, subject=subject, detail={**more, "written": told}
    )


def next_step(cursor: Cursor, table: str) -> int:
    """The number of the next row; made under the lock of the write."""
    row = cursor.execute(f"select max(step) from {table}").fetchone()  # noqa: S608
    return 1 if row is None or row[0] is None else int(row[0]) + 1


def _plain(row: Row) -> Row:
    """A row as the audit chain can tell it."""
    return {
        name: value.isoformat(timespec="microseconds") if isinstance(value, datetime) else value
        for name, value in row.items()
    }
