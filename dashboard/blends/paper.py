"""The sheet by which a blend is weighed out: bags to fetch, portions to weigh, boxes to check."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

import pandas as pd

from dashboard.blends.words import recipe
from dashboard.frame.paper import pdf, utc
from dashboard.frame.words import CAUTIONS, HANDLING, day
from spc.answers.blends.blend_sheets import BlendSheet
from spc.blend.problem.target import plain
from spc.digits import percent, written
from spc.store.blends.drafts import Portion, Predicted

TEMPLATE: Final = "blends/paper.typ"
_OF_A_DUST: Final = 1e-6


def blend_sheet(sheet: BlendSheet) -> bytes:
    """The sheet of one blend as PDF.

    Parameters
    ----------
    sheet
        Everything it shows; see `sheet_of_blend`.

    Returns
    -------
    bytes
        A4 pages, the same for the same sheet.
    """
    return pdf(TEMPLATE, sheet_values(sheet), printed_at=sheet.printed_at)


def sheet_values(sheet: BlendSheet) -> dict[str, Any]:
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
        "cautions": [recipe.RELEASE, recipe.MIXING, HANDLING, CAUTIONS],
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
        ("cost", "" if draft.cost is None else recipe.money(draft.cost, draft.currency)),
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
    return day(pd.Timestamp(moment))


def _moment(at: datetime) -> str:
    when = utc(at)
    return f"{day(when)}, {when:%H:%M} UTC"
