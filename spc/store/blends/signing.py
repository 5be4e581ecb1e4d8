"""A blend approved and issued: what is signed, on what it rests, and what is done then."""

from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Any, Final

from spc.errors import SignatureRefused
from spc.store.blends import barred, blend_records, blends, fitness
from spc.store.blends.blend_records import Blend
from spc.store.blends.blends import Signed
from spc.store.file.cursors import Cursor
from spc.store.people import Actor, Ask, Request

APPROVE: Final = "approve a blend"
LIMITED: Final = "approve a blend of limited lots"
ISSUE: Final = "issue a blend"
OWN: Final = "issue one's own blend"


def ask_approval(cursor: Cursor, blend: str, *, reason: str = "") -> Ask:
    """What is to be signed for the approval of a draft.

    Parameters
    ----------
    reason
        That it can be made, within the terms of its lots, if not given.

    Raises
    ------
    InvalidInput, UnknownName
        See `blends.approvable`.
    """
    planned = blends.approvable(cursor, blend)
    limited = _limited(cursor, planned)
    usual = f"uses {', '.join(limited)} within their terms" if limited else "can be made"
    return Ask(
        deed=LIMITED if limited else APPROVE,
        subject=blends.place(planned),
        about={**_about(planned), **({"accepted for a use only": limited} if limited else {})},
        rests_on=_rests_on(cursor, planned),
        meaning="approved",
        reason=reason or usual,
    )


def ask_issue(cursor: Cursor, actor: Actor, blend: str, *, reason: str = "") -> Ask:
    """What is to be signed for the issue of a blend; by its drafter, two persons sign.

    Parameters
    ----------
    reason
        That it is to be made, if not given.

    Raises
    ------
    InvalidInput, UnknownName
        See `blends.issuable`.
    """
    planned = blends.issuable(cursor, blend)
    return Ask(
        deed=OWN if _is_drafter(planned, actor.person, actor.name) else ISSUE,
        subject=blends.place(planned),
        about=_about(planned),
        rests_on=_rests_on(cursor, planned),
        meaning="issued",
        reason=reason or "to be made",
    )


class BlendBusiness:
    """A blend goes on with the last signature that its next step needs."""

    def rests_on(self, cursor: Cursor, request: Request) -> Mapping[str, Any]:
        """Where it stands, what stands against it, and which of its lots are limited."""
        return _rests_on(cursor, blend_records.one(cursor, request.about["key"]))

    def news(self, cursor: Cursor, request: Request) -> str:
        """What has changed since it was asked."""
        now = self.rests_on(cursor, request)
        if now["state"] != request.rests_on["state"]:
            return f"the blend is {now['state']}"
        if now["stands against it"] != request.rests_on["stands against it"]:
            return " ".join(now["stands against it"]).rstrip(".")
        return f"of its lots {', '.join(now['limited']) or 'none'} may be used within terms only"

    def carry_out(self, cursor: Cursor, request: Request, *, actor: Actor, at: datetime) -> None:  # noqa: ARG002
        """Approve or issue it.

        Raises
        ------
        SignatureRefused
            If its drafter signed alone what takes another person.
        """
        first = request.signatures[0]
        signed = Signed(
            by=actor,
            first=first.name,
            role=first.role,
            beside=request.beside,
            reason=request.reason,
        )
        blend = request.about["key"]
        if request.deed in (APPROVE, LIMITED):
            blends.approve(cursor, blend, signed)
            return
        _refuse_drafter(request, blend_records.one(cursor, blend))
        blends.issue(cursor, blend, signed)


BUSINESS: Final[Mapping[str, BlendBusiness]] = MappingProxyType(
    dict.fromkeys((APPROVE, LIMITED, ISSUE, OWN), BlendBusiness())
)


def _refuse_drafter(request: Request, planned: Blend) -> None:
    """Refuse a request that another asked for, and the drafter signed alone."""
    first = request.signatures[0]
    if request.deed == ISSUE and _is_drafter(planned, first.person, first.name):
        raise SignatureRefused(
            f"{first.name} drafted it.",
            where=request.subject,
            remedy="Ask for the issue yourself, so that a second person signs beside you.",
            reason_typed=request.reason,
        )


def _is_drafter(planned: Blend, person: str, name: str) -> bool:
    """A draft of an earlier version of the store knows its drafter by name only."""
    if planned.drafted_person:
        return planned.drafted_person == person
    return planned.drafted_by == name


def _rests_on(cursor: Cursor, planned: Blend) -> dict[str, Any]:
    return {
        "state": planned.status,
        "stands against it": list(fitness.against(cursor, planned)),
        "limited": _limited(cursor, planned),
    }


def _limited(cursor: Cursor, planned: Blend) -> list[str]:
    """The lots of a blend that were accepted for a use and a time only."""
    decisions = barred.decided(cursor)
    return [lot for lot in planned.draft.lots if decisions[lot].limited]


def _about(planned: Blend) -> dict[str, Any]:
    draft = planned.draft
    return {
        "blend": draft.name,
        "key": planned.blend,
        "material": draft.material,
        "recipe": {one.lot: f"{one.kg:g} kg" for one in draft.portions},
        "drafted by": planned.drafted_by,
    }
