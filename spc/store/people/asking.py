"""Asking for signatures: a request is written down, and ends declined or void, never deleted."""

import json
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from datetime import datetime
from typing import Any, Final, Literal

from spc.errors import SignatureRefused
from spc.store.file.cursors import Cursor
from spc.store.people import house_rules, register, requests
from spc.store.people.permissions import ALONE
from spc.store.people.proofs import Actor
from spc.store.people.requests import Request
from spc.store.record import audit, ledger

_SHORTEST_REASON: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """What somebody is to sign.

    Attributes
    ----------
    deed
        One of `permissions.DEEDS`.
    subject
        The lot, blend, file or material that it is about.
    about
        What is signed, as it is shown: decision, verdict of each line, scope, expiry.
    rests_on
        What it was decided on, such as the fingerprint of the evidence and the latest decision;
        where that changes before the last signature, nothing is signed.
    meaning
        What the signature means: accepted, approved, reviewed.
    asks
        Id of the person who is asked to sign beside; empty for anyone who may.
    """

    deed: str
    subject: str
    about: Mapping[str, Any]
    meaning: str
    reason: str
    rests_on: Mapping[str, Any] = field(default_factory=dict)
    asks: str = ""


def start(cursor: Cursor, actor: Actor, ask: Ask, *, at: datetime) -> Request:
    """Write down what is to be signed; nobody has signed it yet.

    Raises
    ------
    SignatureRefused
        If it has no reason, or needs two persons where there is only one.
    """
    reason_told(ask.reason, where=ask.subject)
    request = Request(
        request=str(uuid.uuid4()),
        step=ledger.next_step(cursor, "signing_request"),
        deed=ask.deed,
        subject=ask.subject,
        meaning=ask.meaning,
        reason=" ".join(ask.reason.split()),
        about=as_kept(ask.about),
        rests_on=as_kept(ask.rests_on),
        sha256="",
        needs=_needed(cursor, ask),
        asks=ask.asks,
        asked_by=actor.person,
        asked_name=actor.name,
        asked_at=at,
        ended="",
        ended_why="",
        ended_by="",
        signatures=(),
    )
    request = replace(request, sha256=requests.digest(request))
    row = {
        name: getattr(request, name)
        for name in (one.name for one in fields(Request))
        if name not in {"signatures", "ended", "ended_why", "ended_by"}
    }
    row |= {
        "about": audit.canonical(request.about),
        "rests_on": audit.canonical(request.rests_on),
    }
    ledger.post(
        cursor,
        {"signing_request": [row]},
        actor=actor.name,
        action=f"asked for a signature: {ask.meaning}",
        subject=ask.subject,
        more={"by": actor.told()},
    )
    return request


def end(
    cursor: Cursor,
    request: Request,
    what: Literal["declined", "void"],
    *,
    actor: Actor,
    why: str,
    at: datetime,
) -> None:
    """Decline a request, or make it void; it stays in the record."""
    row = {
        "event": str(uuid.uuid4()),
        "step": ledger.next_step(cursor, "request_event"),
        "request": request.request,
        "what": what,
        "reason": why,
        "person": actor.person,
        "name": actor.name,
        "happened_at": at,
    }
    ledger.post(
        cursor,
        {"request_event": [row]},
        actor=actor.name,
        action="declined to sign" if what == "declined" else "a request became void",
        subject=request.subject,
        more={"by": actor.told(), "meaning": request.meaning},
    )


def void_about(cursor: Cursor, subject: str, *, actor: Actor, why: str, at: datetime) -> int:
    """Make void what still waits for a signature about a subject; returns how many.

    For a door whose deed overtakes what others were asked to sign.
    """
    waiting = [
        one for one in requests.every(cursor, subject=subject) if one.state in {"open", "waiting"}
    ]
    for request in waiting:
        end(cursor, request, "void", actor=actor, why=why, at=at)
    return len(waiting)


def reason_told(reason: str, *, where: str) -> str:
    """A reason in one line.

    Raises
    ------
    SignatureRefused
        If it says nothing.
    """
    told = " ".join(reason.split())
    if sum(character.isalnum() for character in told) < _SHORTEST_REASON:
        raise SignatureRefused(
            "the signature has no reason.",
            where=where,
            remedy="Say in a few words why; a full stop is no reason.",
        )
    return told


def _needed(cursor: Cursor, ask: Ask) -> int:
    """How many must sign: two where the house says so, one where only one is there and may."""
    if ask.deed not in house_rules.two_persons(cursor):
        return 1
    if not register.one_person(cursor):
        return 2
    if ask.deed in ALONE:
        return 1
    raise SignatureRefused(
        f"to {ask.deed} needs a second person, and only one works with this store.",
        where=ask.subject,
        remedy="Invite a second person: `lotheat people invite`.",
        reason_typed=ask.reason,
    )


def as_kept(told: Mapping[str, Any]) -> dict[str, Any]:
    """What a request tells as it is read back from the record, so that both have one digest."""
    plain: dict[str, Any] = json.loads(audit.canonical(told))
    return plain
