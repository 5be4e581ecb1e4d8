"""Rows of stock, blends and people: written with their audit entry, and held against it."""

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import datetime
from types import MappingProxyType
from typing import Any, Final, TypeAlias

from spc.store.file.connection import Cursor, records
from spc.store.record import audit

Row: TypeAlias = dict[str, Any]

# Each table, how one of its rows is named, and the column that names it.
TABLES: Final[Mapping[str, tuple[str, str]]] = MappingProxyType(
    {
        "stock_move": ("a stock move of lot", "lot"),
        "blend": ("the draft of blend", "name"),
        "blend_event": ("an event of blend", "blend"),
        "blend_parent": ("the parentage of lot", "lot"),
        "person_event": ("the register's entry of", "name"),
        "invitation": ("an invitation of person", "person"),
        "account": ("an account of person", "person"),
        "token_event": ("a token of", "sender"),
        "house_rule": ("the house rule", "name"),
        "signing_request": ("what was to be signed of", "subject"),
        "request_event": ("the end of a request of", "name"),
        "signature": ("a signature of", "name"),
    }
)

# The sign is escaped inside a text, so that no note can look like one of these entries.
WRITTEN: Final = """
    select detail
    from audit
    where detail like '%"written":{%'
    order by sequence
"""


def post(
    cursor: Cursor,
    rows: Mapping[str, Sequence[Row]],
    *,
    actor: str,
    action: str,
    subject: str,
    more: Mapping[str, Any] = MappingProxyType({}),
) -> None:
    """Insert rows, and record them all in one entry of the audit chain.

    Parameters
    ----------
    rows
        By table; every column of each.
    more
        What else the entry tells.
    """
    for table, several in rows.items():
        for row in several:
            places = ", ".join(f"${name}" for name in row)
            # Table and columns are this package's own; nothing of a user's enters the text.
            cursor.execute(
                f"insert into {table} ({', '.join(row)}) values ({places})",  # noqa: S608
                row,
            )
    written = {table: [_plain(row) for row in several] for table, several in rows.items()}
    audit.record(
        cursor, actor=actor, action=action, subject=subject, detail={**more, "written": written}
    )


def next_step(cursor: Cursor, table: str) -> int:
    """The number of the next row; made under the lock of the write."""
    row = cursor.execute(f"select max(step) from {table}").fetchone()  # noqa: S608
    return 1 if row is None or row[0] is None else int(row[0]) + 1


def faults(cursor: Cursor) -> tuple[int, list[str]]:
    """Compare every row of these tables with the audit chain, both ways."""
    said: Counter[tuple[str, str]] = Counter()
    for (text,) in cursor.execute(WRITTEN).fetchall():
        for table, rows in json.loads(text)["written"].items():
            said.update((table, audit.canonical(row)) for row in rows)
    stands: Counter[tuple[str, str]] = Counter()
    for table in TABLES:
        rows = records(cursor, f"select * from {table}")  # noqa: S608
        stands.update((table, audit.canonical(_plain(row))) for row in rows)
    changed = sorted({_named(*one) for one in (stands - said) + (said - stands)})
    return stands.total(), [f"{name} differs from its audit entry." for name in changed]


def _named(table: str, text: str) -> str:
    words, column = TABLES[table]
    return f"{words} {json.loads(text)[column]}"


def _plain(row: Row) -> Row:
    """A row as the audit chain can tell it."""
    return {
        name: value.isoformat(timespec="microseconds") if isinstance(value, datetime) else value
        for name, value in row.items()
    }
