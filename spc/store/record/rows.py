"""Rows written into tables: each stands under the entry of the audit chain that comes with it."""

from collections.abc import Iterable, Mapping
from typing import Any, TypeAlias

import pandas as pd

from spc.store.file.appending import framed
from spc.store.file.cursors import Cursor
from spc.store.record import audit

Row: TypeAlias = Mapping[str, Any]


def insert(cursor: Cursor, table: str, several: Iterable[Row]) -> None:
    """Add rows, given by column; the caller records them in the same transaction."""
    entry = audit.upcoming(cursor)
    for row in several:
        names = ", ".join(f'"{name}"' for name in (*row, "entry"))
        places = ", ".join("?" for _ in (*row, "entry"))
        # Table and columns are this package's own; nothing of a user's enters the text.
        cursor.execute(
            f"insert into {table} ({names}) values ({places})",  # noqa: S608
            [*row.values(), entry],
        )


def append(cursor: Cursor, table: str, frame: pd.DataFrame) -> None:
    """Add a frame of many rows, its columns named like the table's."""
    if not frame.empty:
        with framed(cursor, frame.assign(entry=audit.upcoming(cursor))):
            cursor.execute(f"insert into {table} by name select * from frame")  # noqa: S608
