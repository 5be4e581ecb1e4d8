"""What a blend's sheet is made from, gathered from one state of the store."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from spc.errors import InvalidInput, UnknownName
from spc.store import Lot, Store
from spc.store.blends.blend_records import Blend

PRINTED: Final = ("issued", "made")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BlendSheet:
    """Everything that a blend sheet shows.

    Attributes
    ----------
    blend
        What was planned, issued.
    lots
        By number, the lots it takes from.
    bag_kg
        By lot, content of a whole bag; NaN where it is not known.
    units
        By characteristic.
    approved
        The event of its approval: signed_by, role, second_person, happened_at.
    against
        What stands against making it now.
    printed_by, printed_at
        Who asks for the sheet, and when.
    """

    blend: Blend
    lots: Mapping[str, Lot]
    bag_kg: Mapping[str, float]
    units: Mapping[str, str]
    approved: Mapping[Any, Any]
    against: tuple[str, ...]
    printed_by: str
    printed_at: datetime


def blend_key(store: Store, name: str) -> str:
    """The key of a blend, from its key, the number of its sheet, or its name.

    Parameters
    ----------
    store
        Is read only.
    name
        Any of the three.

    Returns
    -------
    str

    Raises
    ------
    UnknownName
        If no blend, or more than one, is called so.
    """
    every = store.blends.every()
    for column in ("blend", "sheet", "name"):
        mine = every.loc[every[column] == name, "blend"]
        if name and len(mine) == 1:
            return str(mine.iloc[0])
    raise UnknownName("blend", name, known=[*every["sheet"][every["sheet"] != ""], *every["name"]])


def sheet_of_blend(store: Store, name: str, *, printed_by: str, printed_at: datetime) -> BlendSheet:
    """What a blend sheet shows, all of it from one state of the store.

    Parameters
    ----------
    store
        Is read only.
    name
        Key, number of the sheet, or name of the blend.
    printed_by
        Who asks for the sheet.
    printed_at
        When; UTC, or with its zone.

    Returns
    -------
    BlendSheet

    Raises
    ------
    UnknownName
        If there is no such blend.
    InvalidInput
        If it was not issued, so that nobody may weigh by it.
    """
    while True:
        before = store.revision()
        sheet = _gathered(store, blend_key(store, name), printed_by, printed_at)
        if store.revision() == before:
            return sheet


def _gathered(store: Store, key: str, printed_by: str, printed_at: datetime) -> BlendSheet:
    blend = store.blends.one(key)
    if blend.status not in PRINTED:
        raise InvalidInput(
            f"it is {blend.status} and has no sheet to weigh by.",
            where=f"blend {blend.draft.name}",
            remedy="Approve and issue it; the sheet gets its number then.",
        )
    stock = store.blends.stock(lots=blend.draft.lots).lots
    events = store.blends.events(key)
    return BlendSheet(
        blend=blend,
        lots={lot: store.lot(lot) for lot in blend.draft.lots},
        bag_kg=dict(zip(stock["lot"], stock["bag_kg"].astype(float), strict=True)),
        units={one.characteristic: one.unit for one in store.catalogue().characteristics},
        approved=events[events["what"] == "approved"].iloc[-1].to_dict(),
        against=tuple(store.blends.against(key)) if blend.status == "issued" else (),
        printed_by=printed_by,
        printed_at=printed_at,
    )
