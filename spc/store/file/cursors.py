"""What every part of the store asks of a cursor: rows as mappings, and the machine's clock."""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

import duckdb

Cursor = duckdb.DuckDBPyConnection


def records(
    cursor: Cursor, query: str, given: Mapping[str, object] | None = None
) -> list[dict[str, Any]]:
    """Rows of a query as mappings of column to value."""
    rows = cursor.execute(query, given)
    names = [column[0] for column in rows.description or ()]
    return [dict(zip(names, row, strict=True)) for row in rows.fetchall()]


def now() -> datetime:
    """What the machine's clock says, UTC without zone; what is written has `audit.moment`."""
    return datetime.now(UTC).replace(tzinfo=None)
