"""What the store knows of the materials of one file, and of no others."""

from collections.abc import Collection
from typing import Final

from spc.intake.checks.usual import Usual, learnt
from spc.store.file.cursors import Cursor

# Enough lots to know a material by; more would cost every file, and say no more.
_NEWEST: Final = 200

MATERIALS: Final = """
    select lot, material
    from lot
    where list_contains($lots, lot)
"""

READINGS: Final = """
    with newest as (
        select lot, material
        from lot
        where list_contains($materials, material)
        qualify row_number() over (
            partition by material order by received_at desc, lot desc
        ) <= $newest
    )
    select
        newest.material,
        current_result.characteristic,
        current_result.basis,
        current_result.lot,
        current_result.unit,
        characteristic.scale,
        current_result.value_low,
        current_result.value_high
    from current_result
    join newest         using (lot)
    join characteristic using (characteristic)
    where characteristic.kind = 'quantity'
      -- A reading that only says "above nothing" or "below everything" says nothing.
      and not (current_result.value_low = 0 and isinf(current_result.value_high))
"""


def usual(cursor: Cursor, *, lots: Collection[str], materials: Collection[str]) -> Usual:
    """What is usual for the materials of some lots, and for some more materials.

    Parameters
    ----------
    lots
        That a file names; those that the store does not know are passed over.
    materials
        That it announces.
    """
    found = dict(cursor.execute(MATERIALS, {"lots": list(lots)}).fetchall())
    wanted = sorted({*found.values(), *materials})
    if not wanted:
        return Usual()
    readings = cursor.execute(READINGS, {"materials": wanted, "newest": _NEWEST}).df()
    return Usual(ranges=learnt(readings), materials=found)
