"""What a blend was made of, and what a lot went into."""

import math
from typing import Final

import pandas as pd

from spc.store.file.cursors import Cursor
from spc.store.lots import lots

# In order of making: a lot is weighed into another only after it was made itself.
EDGES: Final = """
    select blend_parent.lot, blend_parent.parent, blend_parent.kg
    from blend_parent
    join blend_event on blend_event.blend = blend_parent.blend and blend_event.what = 'made'
    order by blend_event.step, blend_parent.parent
"""

PARENTS: Final = """
    select
        blend_parent.parent as lot, blend_parent.kg, lot.material, lot.supplier, blend_parent.blend
    from blend_parent
    join lot on lot.lot = blend_parent.parent
    where blend_parent.lot = $lot
    order by blend_parent.kg desc, blend_parent.parent
"""

CHILDREN: Final = """
    select
        blend_parent.lot, blend_parent.kg, lot.material, lot.received_at as made_at,
        blend_status.sheet, blend_parent.blend
    from blend_parent
    join lot using (lot)
    join blend_status on blend_status.blend = blend_parent.blend
    where blend_parent.parent = $lot
    order by lot.received_at, blend_parent.lot
"""


def parents(cursor: Cursor, lot: str) -> pd.DataFrame:
    """What was weighed into a lot, most first; empty for a lot that was bought.

    Returns
    -------
    DataFrame
        Columns lot, kg, material, supplier, blend.

    Raises
    ------
    UnknownName
        If there is no such lot.
    """
    lots.one(cursor, lot)
    return cursor.execute(PARENTS, {"lot": lot}).df()


def children(cursor: Cursor, lot: str) -> pd.DataFrame:
    """The lots that a lot was weighed into, oldest first.

    Returns
    -------
    DataFrame
        Columns lot, kg (of the lot asked for), material, made_at, sheet, blend.

    Raises
    ------
    UnknownName
        If there is no such lot.
    """
    lots.one(cursor, lot)
    return cursor.execute(CHILDREN, {"lot": lot}).df()


def trace(cursor: Cursor, lot: str) -> pd.DataFrame:
    """Every lot that holds some of a lot, through any number of blends: what a recall asks for.

    Returns
    -------
    DataFrame
        One line a lot, in order of making: lot, share (of what was weighed into it, that comes
        from the lot asked for), material, decision.

    Raises
    ------
    UnknownName
        If there is no such lot.
    """
    lots.one(cursor, lot)
    shares = {lot: 1.0}
    for child, weighed in _mixtures(cursor).items():
        of_it = math.fsum(kg * shares.get(parent, 0.0) for parent, kg in weighed.items())
        if of_it > 0.0:
            shares[child] = of_it / math.fsum(weighed.values())
    del shares[lot]
    facts = lots.several(cursor, list(shares))
    return pd.DataFrame(
        [(one, shares[one], facts[one].material, facts[one].decision) for one in shares],
        columns=["lot", "share", "material", "decision"],
    )


def ancestors(cursor: Cursor) -> dict[str, list[str]]:
    """Every lot that went into a blend, through any number of blends, by the blend's lot."""
    found: dict[str, list[str]] = {}
    for child, weighed in _mixtures(cursor).items():
        every = [*weighed, *(old for parent in weighed for old in found.get(parent, ()))]
        found[child] = list(dict.fromkeys(every))
    return found


def _mixtures(cursor: Cursor) -> dict[str, dict[str, float]]:
    """Kilograms by parent, by lot, in order of making."""
    found: dict[str, dict[str, float]] = {}
    for lot, parent, kg in cursor.execute(EDGES).fetchall():
        found.setdefault(lot, {})[parent] = kg
    return found
