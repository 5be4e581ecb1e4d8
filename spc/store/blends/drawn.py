"""What was already drawn of a lot: blends it was set aside for, and lots it went into."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from spc.store.file.cursors import Cursor, records

# What a blend holds on to: set aside on issue, weighed in on making.
DRAWN: Final = """
    select stock_move.lot, blend_status.blend, blend_status.name, blend_status.status,
           blend_status.lot as made, sum(stock_move.kg) as kg
    from stock_move
    join blend_status using (blend)
    where list_contains($lots, stock_move.lot)
      and ((blend_status.status = 'issued' and stock_move.kind = 'reserved')
        or (blend_status.status = 'made' and stock_move.kind = 'consumed'))
    group by all
    order by stock_move.lot, blend_status.name, blend_status.blend
"""

# Lots of which something went into a blend, or is set aside for one.
USED: Final = """
    select distinct stock_move.lot
    from stock_move
    join blend_status using (blend)
    where blend_status.status in ('issued', 'made') and stock_move.kind in ('reserved', 'consumed')
    order by stock_move.lot
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """Some of a lot in a blend.

    Attributes
    ----------
    name
        Of the blend.
    status
        Issued: set aside for it; made: weighed into it.
    made
        The number of the lot that the blend became; empty while it is not made.
    kg
        Of the lot.
    """

    lot: str
    blend: str
    name: str
    status: str
    made: str
    kg: float


def drawn(cursor: Cursor, lots: Sequence[str]) -> tuple[Drawn, ...]:
    """What blends hold of some lots, and what of those blends' lots, through any number of them."""
    found: list[Drawn] = []
    wanted, seen = list(lots), set[str]()
    while wanted:
        seen.update(wanted)
        several = [Drawn(**row) for row in records(cursor, DRAWN, {"lots": wanted})]
        found += several
        wanted = sorted({one.made for one in several if one.made} - seen)
    return tuple(found)


def used(cursor: Cursor) -> list[str]:
    """Every lot of which some is in a blend or set aside for one."""
    return [lot for (lot,) in cursor.execute(USED).fetchall()]
