"""The sheet by which a blend is weighed out: bags to fetch, portions to weigh, boxes to check."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

import pandas as pd

from dashboard import wording
from dashboard.reports.typesetting import pdf, utc
from dashboard.wording import blends as worded
from spc.blend.target import plain
from spc.digits import percent, written
from spc.errors import InvalidInput, UnknownName
from spc.store import Lot, Store
from spc.store.blend_records import Blend
from spc.store.drafts import Portion, Predicted

TEMPLATE: Final = "blend_sheet.typ"
_PRINTED: Final = ("issued", "made")
_OF_A_DUST: Final = 1e-6


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


def blend_of(store: Store, name: str) -> str:
    """The key of a blend, from its key, the number of its sheet, or its name.

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


def collect_blend(store: Store, name: str, *, printed_by: str, printed_at: datetime) -> BlendSheet:
    """What a blend sheet shows, all of it from one state of the store.

    Parameters
    ----------
    name
        Key, number of the sheet, or name of the blend.
    printed_by
        Who asks for the sheet.
    printed_at
        When; UTC, or with its zone.

    Raises
    ------
    UnknownName
        If there is no such blend.
    InvalidInput
        If it was not issued, so that nobody may weigh by it.
    """
    while True:
        before = store.revision()
        sheet = _gathered(store, blend_of(store, name), printed_by, printed_at)
        if store.revision() == before:
            return sheet


def _gathered(store: Store, key: str, printed_by: str, printed_at: datetime) -> BlendSheet:
    blend = store.blends.one(key)
    if blend.status not in _PRINTED:
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


def blend_sheet(sheet: BlendSheet) -> bytes:
    """The sheet of one blend as PDF.

    Parameters
    ----------
    sheet
        Everything it shows; see `collect_blend`.

    Returns
    -------
    bytes
        A4 pages, the same for the same sheet.
    """
    return pdf(TEMPLATE, told(sheet), printed_at=sheet.printed_at)


def told(sheet: BlendSheet) -> dict[str, Any]:
    """What the template shows, in plain values."""
    blend, draft = sheet.blend, sheet.blend.draft
    return {
        "title": f"Blend sheet {blend.sheet}",
        "short": f"Blend sheet {blend.sheet}",
        "name": draft.name,
        "what": f"{kilograms(draft.total_kg)} of {draft.material}",
        "facts": _facts(sheet),
        "against": list(sheet.against),
        "portions": [_portion(sheet, one) for one in draft.portions],
        "total": kilograms(draft.total_kg),
        "bags": [bag for one in draft.portions for bag in _bags(sheet, one)],
        "predicted": [_predicted(sheet, one) for one in draft.predicted],
        "note": draft.note,
        "evidence": f"The recipe rests on lot means with the fingerprint {blend.fingerprint}.",
        "cautions": [worded.RELEASE, worded.MIXING, wording.HANDLING, wording.CAUTIONS],
        "printed": f"printed {_moment(sheet.printed_at)} by {sheet.printed_by}",
    }


def _facts(sheet: BlendSheet) -> list[list[str]]:
    blend, draft, approved = sheet.blend, sheet.blend.draft, sheet.approved
    second = f", with {approved['second_person']}" if approved["second_person"] else ""
    facts = [
        ("makes", draft.material),
        ("lots", str(len(draft.portions))),
        ("drafted by", f"{blend.drafted_by}, {_day(blend.drafted_at)}"),
        (
            "approved by",
            f"{approved['signed_by']} ({approved['role']}){second},"
            f" {_day(approved['happened_at'])}",
        ),
        ("issued", _day(blend.since) if blend.status == "issued" else ""),
        ("lot made", blend.lot),
        ("asked heat", _asked(draft.target)),
        ("odds", "" if draft.odds is None else f"{percent(draft.odds)} that all limits are kept"),
        ("cost", "" if draft.cost is None else worded.money(draft.cost, draft.currency)),
    ]
    return [[name, text] for name, text in facts if text]


def _asked(target: Mapping[str, Any]) -> str:
    if not {"lower", "upper", "unit"} <= set(target):
        return ""
    return f"{plain(target['lower'])} to {plain(target['upper'])} {target['unit']}"


def _portion(sheet: BlendSheet, one: Portion) -> dict[str, str]:
    lot, bag = sheet.lots[one.lot], sheet.bag_kg[one.lot]
    weighed = one.kg - (one.bags or 0) * (bag if one.bags else 0.0)
    return {
        "lot": one.lot,
        "theirs": f"{lot.supplier}{f', their lot {lot.supplier_lot}' if lot.supplier_lot else ''}",
        "bags": f"{one.bags} × {bag:g} kg" if one.bags else "–",
        "weighed": kilograms(weighed) if weighed > _OF_A_DUST else "–",
        "kg": kilograms(one.kg),
        "share": percent(one.kg / sheet.blend.draft.total_kg),
    }


def _bags(sheet: BlendSheet, one: Portion) -> list[list[str]]:
    """One line for each bag to fetch, and one for what is weighed out."""
    bag = sheet.bag_kg[one.lot]
    whole = one.bags or 0
    lines = [[one.lot, f"bag {number} of {whole}", f"{bag:g} kg"] for number in range(1, whole + 1)]
    weighed = one.kg - whole * (bag if whole else 0.0)
    if weighed > _OF_A_DUST:
        lines.append([one.lot, "weighed out", kilograms(weighed)])
    return lines


def _predicted(sheet: BlendSheet, one: Predicted) -> list[str]:
    unit = sheet.units[one.characteristic]
    return [
        one.characteristic,
        written(one.mean, uncertainty=one.standard_deviation, unit=unit),
        written(one.standard_deviation, uncertainty=one.standard_deviation, unit=unit),
        one.basis or "–",
    ]


def kilograms(kg: float) -> str:
    """A mass to the gram, without idle zeros."""
    return f"{plain(round(kg, 3))} kg"


def _day(moment: datetime | pd.Timestamp) -> str:
    return wording.day(pd.Timestamp(moment))


def _moment(at: datetime) -> str:
    when = utc(at)
    return f"{wording.day(when)}, {when:%H:%M} UTC"
