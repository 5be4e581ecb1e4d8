"""The life of a blend until it is made: drafted, approved, issued, or given up."""

import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from spc.errors import InvalidInput
from spc.store.blends import blend_records, drafts, fitness, stock_moves
from spc.store.blends.bags import Move
from spc.store.blends.blend_records import Blend
from spc.store.blends.drafts import Draft
from spc.store.blends.made_lot import OWN
from spc.store.catalogue import catalogue
from spc.store.file.cursors import Cursor
from spc.store.lots import gathering
from spc.store.people.proofs import Actor
from spc.store.record import audit, ledger

# What may happen to a blend in each state.
MOVES: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "draft": ("approved", "cancelled"),
        "approved": ("issued", "cancelled"),
        "issued": ("made", "cancelled"),
        "made": (),
        "cancelled": (),
    }
)

SHEETS: Final = """
    select count(*) from blend_event where what = 'issued' and sheet like $year || '-%'
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signed:
    """Who does the next thing to a blend, in what role, and why.

    Attributes
    ----------
    by
        Who acts: of two who sign, the second.
    first
        The name of the first who signed, where somebody else acts.
    beside
        The name of the second person; empty where one is enough.
    """

    by: Actor
    first: str = ""
    role: str = ""
    beside: str = ""
    reason: str = ""


def save(cursor: Cursor, draft: Draft, *, by: Actor) -> str:
    """Keep a draft with the lot means it rests on.

    Returns
    -------
    str
        Its key.

    Raises
    ------
    InvalidInput
        If the recipe cannot be followed, a lot may not be used, or there is not so much of it.
    UnknownName
        If a lot, the material's specification or a characteristic is not in the store.
    """
    drafts.check(draft, catalogue.load(cursor))
    where = f"blend {draft.name.strip()}"
    found, evidence = fitness.unfit(cursor, draft)
    _refuse(found, where=where, remedy="Make a recipe of what can be used.")
    key = str(uuid.uuid4())
    row = {
        "blend": key,
        "name": draft.name.strip(),
        "material": draft.material,
        "batch_kg": float(draft.batch_kg),
        "target": drafts.target_text(draft),
        "recipe": drafts.recipe_text(draft),
        "evidence": audit.canonical(evidence),
        "note": draft.note.strip(),
        "drafted_by": by.name,
        "drafted_person": by.person,
        "drafted_at": audit.moment(cursor),
    }
    ledger.post(
        cursor,
        {"blend": [row]},
        actor=by.name,
        action="drafted a blend",
        subject=key,
        more={"by": by.told()},
    )
    return key


def approvable(cursor: Cursor, blend: str) -> Blend:
    """A draft that can be approved.

    Raises
    ------
    InvalidInput
        If a lot was barred, is no longer there or has another mean since it was drafted.
    UnknownName
        If there is no such blend.
    """
    planned = in_turn(cursor, blend, "approved")
    _refuse_unfit(cursor, planned)
    return planned


def approve(cursor: Cursor, blend: str, signed: Signed) -> None:
    """Let a draft be issued; the caller has seen to it that everybody signed who must.

    Raises
    ------
    InvalidInput, UnknownName
        See `approvable`.
    """
    _post(cursor, approvable(cursor, blend), "approved", signed)


def issuable(cursor: Cursor, blend: str) -> Blend:
    """An approved blend that can be issued.

    Raises
    ------
    InvalidInput
        If it was not approved, a lot was barred, is no longer there or has
        another mean since it was drafted, or the catalogue does not know who blends here.
    UnknownName
        If there is no such blend.
    """
    planned = in_turn(cursor, blend, "issued")
    _refuse_unfit(cursor, planned)
    if OWN not in {one.supplier for one in catalogue.load(cursor).suppliers}:
        raise InvalidInput(
            f"the catalogue has no supplier {OWN!r}, in whose name the blend would stand.",
            where=place(planned),
            remedy="Add it to the catalogue, with the country you blend in.",
        )
    return planned


def issue(cursor: Cursor, blend: str, signed: Signed) -> str:
    """Hand a blend out to be made: its stock is set aside, and its sheet gets a number.

    The caller has seen to it that everybody signed who must.

    Returns
    -------
    str
        The number of the sheet: the year, and a running number within it.

    Raises
    ------
    InvalidInput, UnknownName
        See `issuable`.
    """
    planned = issuable(cursor, blend)
    year = str(gathering.today_of(cursor).year)
    row = cursor.execute(SHEETS, {"year": year}).fetchone()
    sheet = f"{year}-{1 + (row[0] if row else 0):04}"
    reserved = [
        Move(lot=portion.lot, kind="reserved", kg=portion.kg, blend=blend)
        for portion in planned.draft.portions
    ]
    _post(cursor, planned, "issued", signed, moves=reserved, sheet=sheet)
    return sheet


def cancel(cursor: Cursor, blend: str, signed: Signed) -> None:
    """Give up a blend that was not made; what was set aside for it can be used again.

    Raises
    ------
    InvalidInput
        If the reason is missing, or it was made or cancelled already.
    UnknownName
        If there is no such blend.
    """
    planned = in_turn(cursor, blend, "cancelled")
    refuse_missing(place(planned), reason=signed.reason)
    _post(cursor, planned, "cancelled", signed, moves=releases(cursor, planned))


def in_turn(cursor: Cursor, blend: str, what: str) -> Blend:
    """A blend to which this may happen now.

    Raises
    ------
    InvalidInput
        If it may not, in the state the blend is in.
    UnknownName
        If there is no such blend.
    """
    planned = blend_records.one(cursor, blend)
    if what in MOVES[planned.status]:
        return planned
    state = "a draft" if planned.status == "draft" else planned.status
    then = " or ".join(MOVES[planned.status])
    raise InvalidInput(
        f"it is {state} and cannot be {what}.",
        where=place(planned),
        remedy=f"It can be {then}." if then else "Draft a new blend.",
    )


def releases(cursor: Cursor, planned: Blend) -> list[Move]:
    """Moves that give back all that is set aside for a blend."""
    held = stock_moves.holdings(cursor, planned.draft.lots)
    return [
        Move(lot=lot, kind="released", kg=held[lot].reserved[planned.blend], blend=planned.blend)
        for lot in planned.draft.lots
        if planned.blend in held[lot].reserved
    ]


def event(cursor: Cursor, blend: str, what: str, signed: Signed, **more: str) -> ledger.Row:
    """The row of something that happens to a blend now.

    Parameters
    ----------
    more
        Of sheet, lot and predicted, what it brings.
    """
    nothing = {"sheet": "", "lot": "", "predicted": ""}
    return {
        "event": str(uuid.uuid4()),
        "step": ledger.next_step(cursor, "blend_event"),
        "blend": blend,
        "what": what,
        **nothing,
        **more,
        "signed_by": signed.first or signed.by.name,
        "role": signed.role,
        "second_person": signed.beside,
        "reason": signed.reason.strip(),
        "happened_at": audit.moment(cursor),
    }


def place(planned: Blend) -> str:
    """A blend in an error's words."""
    return f"blend {planned.draft.name}"


def refuse_missing(where: str, **texts: str) -> None:
    """Refuse what is not said.

    Raises
    ------
    InvalidInput
        If one of the texts is empty.
    """
    missing = [name for name, text in texts.items() if not text.strip()]
    if missing:
        raise InvalidInput(
            f"no {' and no '.join(missing)} is given.",
            where=where,
            remedy="Say what is asked for.",
        )


def _post(
    cursor: Cursor,
    planned: Blend,
    what: str,
    signed: Signed,
    *,
    moves: Sequence[Move] = (),
    sheet: str = "",
) -> None:
    """One event with the moves it makes, in one entry of the audit chain."""
    happened = event(cursor, planned.blend, what, signed, sheet=sheet)
    by, reason = happened["signed_by"], happened["reason"] or f"blend {what}"
    ledger.post(
        cursor,
        {
            "blend_event": [happened],
            "stock_move": stock_moves.checked_rows(cursor, moves, by=by, reason=reason),
        },
        actor=signed.by.name,
        action=f"{what} a blend",
        subject=planned.blend,
        more={"by": signed.by.told()},
    )


def _refuse_unfit(cursor: Cursor, planned: Blend) -> None:
    _refuse(
        fitness.against(cursor, planned),
        where=place(planned),
        remedy="Cancel it and draft another from what is known now.",
    )


def _refuse(found: Iterable[str], *, where: str, remedy: str) -> None:
    told = " ".join(found)
    if told:
        raise InvalidInput(told, where=where, remedy=remedy)
