"""Lots: deliveries, what was decided of them, and which still wait."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

import pandas as pd

from spc.errors import UnknownName
from spc.intake.checks.novelty import novelty
from spc.intake.lots import LOT_FACTS
from spc.store.file.appending import framed
from spc.store.file.cursors import Cursor, records
from spc.store.lots.release import DEEDS
from spc.store.record import rows

# Latest decisions of lots that a person still has to decide on.
WAITING: Final = ("", "on hold")

EXISTING: Final = "select * from lot where lot in (select lot from frame)"

EVERY: Final = """
    with latest as (
        select lot, decision, decided_by, decided_at
        from decision_in_order
        qualify row_number() over (partition by lot order by turn desc) = 1
    ),
    asked as (
        select subject as lot, meaning
        from signing_request
        join (select request, count(*) as given from signature group by request) using (request)
        anti join request_event using (request)
        where list_contains($deeds, deed) and given < needs
        qualify row_number() over (partition by subject order by step desc) = 1
    )
    select
        lot.*,
        coalesce(latest.decision, '')   as decision,
        coalesce(latest.decided_by, '') as decided_by,
        latest.decided_at,
        coalesce(asked.meaning, '')     as pending
    from lot
    left join latest using (lot)
    left join asked using (lot)
    where ($lot = '' or lot.lot = $lot)
      and (not $waiting or latest.decision is null or latest.decision = 'on hold')
    order by lot.received_at, lot.lot
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """One delivery; quantities in kg, price in `currency` per kg.

    Attributes
    ----------
    decision
        The latest; empty if there is none.
    pending
        The decision that waits for a second person's signature; empty if none does.
    """

    lot: str
    material: str
    supplier: str
    supplier_lot: str
    received_at: datetime
    harvest_year: int | None
    packages: int | None
    package_kg: float | None
    price_per_kg: float | None
    currency: str
    decision: str
    receipt: str
    source_row: int
    pending: str = ""


def names(cursor: Cursor) -> list[str]:
    """Every lot number."""
    return [name for (name,) in cursor.execute("select lot from lot order by lot").fetchall()]


def status(cursor: Cursor, said: pd.DataFrame) -> pd.Series:
    """New, known or changed, for each lot that a file announces."""
    with framed(cursor, said[["lot"]]):
        existing = cursor.execute(EXISTING).df()
    return novelty(said, existing, key="lot", facts=LOT_FACTS[1:])


def insert(cursor: Cursor, fresh: pd.DataFrame, *, receipt: str) -> None:
    """Add lots."""
    rows.append(cursor, "lot", fresh.reset_index().assign(receipt=receipt))


def every(cursor: Cursor, *, waiting: bool = False) -> pd.DataFrame:
    """All lots with their latest decision, in order of receipt; or those that still wait."""
    return cursor.execute(EVERY, {"lot": "", "waiting": waiting, "deeds": [*DEEDS]}).df()


def several(cursor: Cursor, wanted: Sequence[str]) -> dict[str, Lot]:
    """Several lots by number, in the order wanted.

    Raises
    ------
    UnknownName
        If the store does not hold one of them.
    """
    if len(wanted) == 1:
        return {wanted[0]: one(cursor, wanted[0])}
    found = {
        row["lot"]: row
        for row in records(cursor, EVERY, {"lot": "", "waiting": False, "deeds": [*DEEDS]})
    }
    for lot in wanted:
        if lot not in found:
            raise UnknownName("lot", lot, known=list(found))
    return {lot: _lot(found[lot]) for lot in wanted}


def one(cursor: Cursor, lot: str) -> Lot:
    """One lot.

    Raises
    ------
    UnknownName
        If the store does not hold it.
    """
    found = records(cursor, EVERY, {"lot": lot, "waiting": False, "deeds": [*DEEDS]})
    if not found:
        raise UnknownName("lot", lot, known=names(cursor))
    return _lot(found[0])


def _lot(row: dict[str, Any]) -> Lot:
    return Lot(**{name: row[name] for name in Lot.__dataclass_fields__})
