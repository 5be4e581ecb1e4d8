"""What happened to the stock of each lot: counted, reserved, released, consumed."""

import math
import uuid
from collections.abc import Sequence
from typing import Final

import numpy as np
import pandas as pd

from spc.errors import InvalidInput
from spc.store.blends.bags import Holding, Move, delivered
from spc.store.file.cursors import Cursor, records
from spc.store.lots import lots
from spc.store.people.proofs import Actor
from spc.store.record import audit, ledger

DELIVERIES: Final = """
    select lot, packages, package_kg
    from lot
    where list_contains($lots, lot)
    order by lot
"""

MOVES: Final = """
    select lot, kind, kg, bags, bag_kg, opened_kg, blend
    from stock_move
    where list_contains($lots, lot)
    order by step
"""

OF_LOT: Final = """
    select
        stock_move.step, stock_move.kind, stock_move.kg, stock_move.bags, stock_move.bag_kg,
        stock_move.opened_kg, stock_move.blend, coalesce(blend.name, '') as name,
        stock_move.reason, stock_move.moved_by, stock_move.moved_at
    from stock_move
    left join blend using (blend)
    where stock_move.lot = $lot
    order by stock_move.step
"""


def holdings(cursor: Cursor, wanted: Sequence[str]) -> dict[str, Holding]:
    """What is there of each of some lots."""
    if not wanted:
        return {}
    given = {"lots": list(wanted)}
    held = {
        row["lot"]: delivered(row["lot"], packages=row["packages"], package_kg=row["package_kg"])
        for row in records(cursor, DELIVERIES, given)
    }
    for row in records(cursor, MOVES, given):
        held[row["lot"]] = held[row["lot"]].after(Move(**row))
    return held


def of_lot(cursor: Cursor, lot: str) -> pd.DataFrame:
    """Everything that happened to the stock of one lot, oldest first.

    Returns
    -------
    DataFrame
        Columns step, kind, kg, bags, bag_kg, opened_kg, blend, name (of the blend), reason,
        moved_by, moved_at, and there_kg and reserved_kg after it (NaN while not known).
    """
    facts = lots.one(cursor, lot)
    frame = cursor.execute(OF_LOT, {"lot": lot}).df()
    held = delivered(lot, packages=facts.packages, package_kg=facts.package_kg)
    after = []
    for row in records(cursor, MOVES, {"lots": [lot]}):
        held = held.after(Move(**row))
        after.append((held.there_kg, held.reserved_kg))
    frame[["there_kg", "reserved_kg"]] = np.array(after, dtype=np.float64).reshape(-1, 2)
    return frame


def checked_rows(
    cursor: Cursor, moves: Sequence[Move], *, by: str, reason: str
) -> list[ledger.Row]:
    """Rows for moves that happen one after the other, to be posted.

    Raises
    ------
    InvalidInput
        If one of them would leave less than nothing of a lot, or nobody knows what is there.
    """
    held = holdings(cursor, sorted({move.lot for move in moves}))
    first, at, rows = ledger.next_step(cursor, "stock_move"), audit.moment(cursor), []
    for step, move in enumerate(moves, start=first):
        held[move.lot] = held[move.lot].checked(move)
        rows.append(
            {
                "move": str(uuid.uuid4()),
                "step": step,
                "lot": move.lot,
                "kind": move.kind,
                "kg": float(move.kg),
                "bags": move.bags,
                "bag_kg": move.bag_kg,
                "opened_kg": move.opened_kg,
                "blend": move.blend,
                "reason": reason,
                "moved_by": by,
                "moved_at": at,
            }
        )
    return rows


def count(cursor: Cursor, found: Move, *, by: Actor, reason: str) -> None:
    """Record what was found of a lot; the books follow the count.

    Parameters
    ----------
    found
        See `counted`.

    Raises
    ------
    InvalidInput
        If no reason is given, or less was found than is set aside for blends.
    UnknownName
        If there is no such lot.
    """
    _post(cursor, found, by=by, reason=reason, action="counted stock")


def take(cursor: Cursor, found: Sequence[Move], *, by: Actor, reason: str) -> None:
    """Record what was found of many lots at once; all of it stands, or nothing.

    Raises
    ------
    InvalidInput
        If no reason is given, a lot was counted twice, or less was found of one
        than is set aside for blends.
    UnknownName
        If there is no such lot.
    """
    _refuse_unsaid(reason, where="stock-take")
    named = [move.lot for move in found]
    twice = sorted({lot for lot in named if named.count(lot) > 1})
    if twice or not named:
        raise InvalidInput(
            f"lot {twice[0]} was counted twice." if twice else "no lot was counted.",
            where="stock-take",
            remedy="Give each lot one line.",
        )
    lots.several(cursor, named)
    rows = checked_rows(cursor, found, by=by.name, reason=reason.strip())
    ledger.post(
        cursor,
        {"stock_move": rows},
        actor=by.name,
        action="took stock",
        subject=f"{len(rows)} lots",
        more={"by": by.told()},
    )


def consume(cursor: Cursor, lot: str, *, kg: float, by: Actor, reason: str) -> None:
    """Record that some of a lot went elsewhere than into a blend: used as it is, sold, destroyed.

    Raises
    ------
    InvalidInput
        If no reason is given, or there is not so much that is not set aside.
    UnknownName
        If there is no such lot.
    """
    refuse_amount(kg, lot=lot)
    move = Move(lot=lot, kind="consumed", kg=float(kg))
    _post(cursor, move, by=by, reason=reason, action="consumed stock")


def counted(lot: str, *, bags: int, bag_kg: float | None, opened_kg: float) -> Move:
    """A count as a move.

    Parameters
    ----------
    bags
        Whole bags.
    bag_kg
        Kilograms of one; None where everything lies open.
    opened_kg
        In opened bags.

    Raises
    ------
    InvalidInput
        If a figure is negative or not finite, or whole bags are counted without their weight.
    """
    whole = bags >= 0 and float(bags).is_integer()
    weighed = bag_kg is not None and math.isfinite(bag_kg) and bag_kg > 0.0
    loose = math.isfinite(opened_kg) and opened_kg >= 0.0
    if not (whole and loose and (weighed or (bag_kg is None and bags == 0))):
        raise InvalidInput(
            f"{bags} bags of {bag_kg} kg and {opened_kg} kg in opened ones is no count.",
            where=f"lot {lot}",
            remedy="Give whole bags from 0 up, the kg of one (above 0) and the kg in opened bags.",
        )
    total = int(bags) * (bag_kg or 0.0) + float(opened_kg)
    return Move(
        lot=lot,
        kind="counted",
        kg=total,
        bags=int(bags),
        bag_kg=bag_kg,
        opened_kg=float(opened_kg),
    )


def refuse_amount(kg: float, *, lot: str) -> None:
    """Refuse kilograms that nobody can weigh.

    Raises
    ------
    InvalidInput
        If they are not above zero, or not finite.
    """
    if not (math.isfinite(kg) and kg > 0.0):
        raise InvalidInput(
            f"{kg:g} kg cannot be weighed.",
            where=f"lot {lot}",
            remedy="Give the kilograms, above zero.",
        )


def _post(cursor: Cursor, move: Move, *, by: Actor, reason: str, action: str) -> None:
    lots.one(cursor, move.lot)
    _refuse_unsaid(reason, where=f"lot {move.lot}")
    rows = checked_rows(cursor, [move], by=by.name, reason=reason.strip())
    ledger.post(
        cursor,
        {"stock_move": rows},
        actor=by.name,
        action=action,
        subject=move.lot,
        more={"by": by.told()},
    )


def _refuse_unsaid(reason: str, *, where: str) -> None:
    if not reason.strip():
        raise InvalidInput(
            "no reason is given.",
            where=where,
            remedy="Say why it was counted or taken.",
        )
