"""Blends as they stand: what was planned, how far it came, and what happened on the way."""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

import pandas as pd

from spc.errors import UnknownName
from spc.store.blends import drafts
from spc.store.blends.drafts import Draft
from spc.store.file.cursors import Cursor, records

EVERY: Final = "select * from blend_status order by drafted_at desc, blend"
ONE: Final = "select * from blend_status where blend = $blend"

EVENTS: Final = """
    select what, sheet, lot, signed_by, role, second_person, reason, happened_at
    from blend_event
    where blend = $blend
    order by step
"""

LINE: Final = (
    "blend",
    "name",
    "material",
    "status",
    "since",
    "sheet",
    "lot",
    "batch_kg",
    "total_kg",
    "portions",
    "odds",
    "cost",
    "currency",
    "cost_per_kg",
    "drafted_by",
    "drafted_at",
    "note",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Blend:
    """A blend with where it stands.

    Attributes
    ----------
    blend
        Its key.
    status, since
        ``"draft"``, ``"approved"``, ``"issued"``, ``"made"`` or ``"cancelled"``.
    sheet
        Number of its blend sheet; empty until it is issued.
    lot
        The lot that was made; empty until then.
    evidence
        By lot and characteristic, the lot means that the recipe rests on.
    drafted_by, drafted_person
        Who drafted it: their name, and their id; no id in a store of an earlier version.
    """

    blend: str
    draft: Draft
    status: str
    since: datetime
    sheet: str
    lot: str
    evidence: Mapping[str, Mapping[str, Mapping[str, Any]]]
    drafted_by: str
    drafted_person: str
    drafted_at: datetime

    @property
    def fingerprint(self) -> str:
        """A short name of the lot means that the recipe rests on."""
        text = json.dumps(self.evidence, sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()[:16]


def one(cursor: Cursor, blend: str) -> Blend:
    """One blend.

    Raises
    ------
    UnknownName
        If there is no such blend.
    """
    found = records(cursor, ONE, {"blend": blend})
    if not found:
        raise UnknownName("blend", blend, known=[row["blend"] for row in records(cursor, EVERY)])
    return _blend(found[0])


def every(cursor: Cursor, *, status: str = "") -> pd.DataFrame:
    """All blends, or those in one state, the newest draft first.

    Returns
    -------
    DataFrame
        Columns blend, name, material, status, since, sheet, lot, batch_kg, total_kg, portions (how
        many), odds, cost, currency, cost_per_kg, drafted_by, drafted_at, note.
    """
    blends = [_blend(row) for row in records(cursor, EVERY) if status in ("", row["status"])]
    return pd.DataFrame([_line(blend) for blend in blends], columns=list(LINE))


def portions(cursor: Cursor, wanted: Sequence[str]) -> pd.DataFrame:
    """What several blends take, one line a blend and lot: blend, name, lot, kg, bags, share."""
    return pd.DataFrame(
        [
            (
                blend.blend,
                blend.draft.name,
                one.lot,
                one.kg,
                one.bags,
                one.kg / blend.draft.total_kg,
            )
            for blend in _several(cursor, wanted)
            for one in blend.draft.portions
        ],
        columns=["blend", "name", "lot", "kg", "bags", "share"],
    )


def predicted(cursor: Cursor, wanted: Sequence[str]) -> pd.DataFrame:
    """What was predicted of several blends, one line a blend and characteristic.

    Returns
    -------
    DataFrame
        Columns blend, name, characteristic, basis, mean, standard_deviation, learned.
    """
    return pd.DataFrame(
        [
            (
                blend.blend,
                blend.draft.name,
                one.characteristic,
                one.basis,
                one.mean,
                one.standard_deviation,
                one.learned,
            )
            for blend in _several(cursor, wanted)
            for one in blend.draft.predicted
        ],
        columns=[
            "blend",
            "name",
            "characteristic",
            "basis",
            "mean",
            "standard_deviation",
            "learned",
        ],
    )


def events(cursor: Cursor, blend: str) -> pd.DataFrame:
    """What happened to a blend since it was drafted, oldest first.

    Returns
    -------
    DataFrame
        Columns what, sheet, lot, signed_by, role, second_person, reason, happened_at.

    Raises
    ------
    UnknownName
        If there is no such blend.
    """
    one(cursor, blend)
    return cursor.execute(EVENTS, {"blend": blend}).df()


def _several(cursor: Cursor, wanted: Sequence[str]) -> list[Blend]:
    return [one(cursor, blend) for blend in wanted]


def _blend(row: dict[str, Any]) -> Blend:
    return Blend(
        blend=row["blend"],
        draft=drafts.draft_of(row),
        status=row["status"],
        since=row["since"],
        sheet=row["sheet"],
        lot=row["lot"],
        evidence=json.loads(row["evidence"]),
        drafted_by=row["drafted_by"],
        drafted_person=row["drafted_person"],
        drafted_at=row["drafted_at"],
    )


def _line(blend: Blend) -> dict[str, Any]:
    draft = blend.draft
    return {
        "blend": blend.blend,
        "name": draft.name,
        "material": draft.material,
        "status": blend.status,
        "since": blend.since,
        "sheet": blend.sheet,
        "lot": blend.lot,
        "batch_kg": draft.batch_kg,
        "total_kg": draft.total_kg,
        "portions": len(draft.portions),
        "odds": draft.odds,
        "cost": draft.cost,
        "currency": draft.currency,
        "cost_per_kg": None if draft.cost is None else draft.cost / draft.total_kg,
        "drafted_by": blend.drafted_by,
        "drafted_at": blend.drafted_at,
        "note": draft.note,
    }
