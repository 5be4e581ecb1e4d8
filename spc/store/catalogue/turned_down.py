"""Versions that were proposed and turned down: they stay in the record, and judge nothing."""

from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any, Final

from spc.store.catalogue.approvals import Key, Kind
from spc.store.file.cursors import Cursor, records
from spc.store.record import rows

EVERY: Final = """
    select * exclude (entry)
    from turned_down
    where $kind in ('', kind)
      and $name in ('', name)
    order by kind, name, version
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnedDown:
    """A version that was turned down.

    Attributes
    ----------
    name
        As of an approval.
    request
        What was signed.
    turned_down_by
        Names of those who signed.
    turned_down_at
        UTC.
    """

    kind: Kind
    name: str
    version: int
    request: str
    turned_down_by: str
    reason: str
    turned_down_at: datetime

    @property
    def key(self) -> Key:
        """What names the version in the store."""
        return Key(self.kind, self.name, self.version)


def every(cursor: Cursor, *, kind: str = "", name: str = "") -> tuple[TurnedDown, ...]:
    """All that was turned down, or what was of a kind or a name, by version."""
    return tuple(TurnedDown(**row) for row in records(cursor, EVERY, {"kind": kind, "name": name}))


def keys(cursor: Cursor) -> frozenset[Key]:
    """What names the versions that were turned down."""
    return frozenset(one.key for one in every(cursor))


def put(cursor: Cursor, one: TurnedDown) -> dict[str, Any]:
    """Write down that one was turned down; the caller records it with the row that comes back."""
    row = asdict(one)
    rows.insert(cursor, "turned_down", [row])
    return {**row, "turned_down_at": str(one.turned_down_at)}
