"""What recipes are made from: what is there of each lot, whether it may be used, what is known."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import pandas as pd

from spc.errors import UnknownName
from spc.store.blends import assays, barred, stock_moves
from spc.store.blends.bags import Holding
from spc.store.blends.barred import Decided, Ruled
from spc.store.file.cursors import Cursor, records
from spc.store.lots import lots

LOTS: Final = """
    select
        lot.lot, lot.material, lot.supplier, coalesce(supplier.country, '') as origin,
        lot.price_per_kg, lot.currency, lot.received_at, lot.harvest_year, material.valid_days
    from lot
    join material using (material)
    left join supplier using (supplier)
    where ($material = '' or lot.material = $material)
      and (len($lots) = 0 or list_contains($lots, lot.lot))
    order by lot.received_at, lot.lot
"""

MATERIALS: Final = "select material from material order by material"

COLUMNS: Final = (
    "lot",
    "material",
    "supplier",
    "origin",
    "price_per_kg",
    "currency",
    "received_at",
    "harvest_year",
    "available_kg",
    "reserved_kg",
    "bags",
    "bag_kg",
    "opened_kg",
    "delivered_kg",
    "consumed_kg",
    "adjusted_kg",
    "decision",
    "scope",
    "expires_on",
    "limited",
    "age_days",
    "valid_days",
    "barred",
)
_NUMBERS: Final = (
    "price_per_kg",
    "harvest_year",
    "available_kg",
    "bags",
    "bag_kg",
    "opened_kg",
    "delivered_kg",
    "valid_days",
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stock:
    """What recipes are made from, all of it from one state of the store.

    Attributes
    ----------
    lots
        One line a lot, oldest first: lot, material, supplier, origin, price_per_kg, currency,
        received_at, harvest_year, available_kg, reserved_kg, bags and opened_kg (what will be left
        of whole bags of bag_kg and in opened ones once all that is reserved was taken),
        delivered_kg, consumed_kg, adjusted_kg (by counts), decision, scope, expires_on (ISO date
        or empty), limited (whether the decision holds for a use and a time only), age_days (since
        receipt), valid_days (for which a result of its material stands), barred (why it may not
        be used, in words; empty where it may).  NaN where not known.
    assays
        One line a lot that may be used and a characteristic; see `assays.assays`.
    """

    lots: pd.DataFrame
    assays: pd.DataFrame


def stock(cursor: Cursor, *, material: str = "", wanted: Sequence[str] = ()) -> Stock:
    """All lots, those of a material, or those named, with what is known of them.

    Raises
    ------
    UnknownName
        If there is no such material or lot.

    Notes
    -----
    A lot may be used if its latest decision lets it into production and has not expired, every
    safety line of its specification conforms, nothing it was mixed from is barred for safety, and
    some of it is left that is not set aside.  A delivery that does not say how many packages came
    cannot be used before somebody counts it.
    """
    _refuse_unknown(cursor, material, wanted)
    facts = records(cursor, LOTS, {"material": material, "lots": list(wanted)})
    held = stock_moves.holdings(cursor, [row["lot"] for row in facts])
    # What is used up needs no verdict any more, and old lots are many.
    left = [row["lot"] for row in facts if held[row["lot"]].there_kg != 0.0]
    ruled = barred.ruled(cursor, left)
    rows = [_line(row, held[row["lot"]], ruled) for row in facts]
    frame = pd.DataFrame(rows, columns=list(COLUMNS)).astype(dict.fromkeys(_NUMBERS, "float64"))
    offered = frame.loc[frame["barred"] == "", "lot"].tolist()
    return Stock(lots=frame, assays=assays.assays(ruled.gathered, offered))


def _line(row: dict[str, Any], holding: Holding, ruled: Ruled) -> dict[str, Any]:
    lot, free = row["lot"], holding.free()
    latest = ruled.decisions.get(lot, Decided(lot=lot))
    today = ruled.gathered.today
    return row | {
        "available_kg": holding.available_kg,
        "reserved_kg": holding.reserved_kg,
        "bags": free.bags,
        "bag_kg": free.bag_kg,
        "opened_kg": None if free.bags is None else free.opened_kg,
        "delivered_kg": holding.delivered_kg,
        "consumed_kg": holding.consumed_kg,
        "adjusted_kg": holding.adjusted_kg,
        "decision": latest.decision,
        "scope": latest.scope,
        "expires_on": latest.expires_on,
        "limited": latest.limited,
        "age_days": (today - row["received_at"].date()).days,
        "barred": "; ".join((*ruled.reasons.get(lot, ()), *barred.used_up(holding))),
    }


def _refuse_unknown(cursor: Cursor, material: str, wanted: Sequence[str]) -> None:
    if wanted:
        lots.several(cursor, wanted)
    known = [name for (name,) in cursor.execute(MATERIALS).fetchall()]
    if material and material not in known:
        raise UnknownName("material", material, known=known)
