"""Signatures: the first person's, the second's, and a later one beside what was done alone."""

import uuid
from collections.abc import Sequence
from dataclasses import asdict, replace
from datetime import datetime
from typing import Final

from spc.errors import NotAllowed, SignatureRefused
from spc.store.file.cursors import Cursor
from spc.store.people import asking, register, secret
from spc.store.people.asking import Ask
from spc.store.people.permissions import ALONE, permit, permit_beside
from spc.store.people.proofs import Actor
from spc.store.people.requests import Request, Signature
from spc.store.people.signed import refuse_unsigned
from spc.store.record import ledger

_FIRST: Final = "first signature"
_SECOND: Final = "second signature"
_LATER: Final = "countersigned"


def begin(cursor: Cursor, actor: Actor, ask: Ask, *, at: datetime) -> Request:
    """Sign something as the first person, in one go.

    Returns
    -------
    Request
        `complete` if one person is enough, else waiting for the second.

    Raises
    ------
    NotAllowed
        If no role of the actor's may do it.
    SignatureRefused
        If no secret was given for it, the reason says nothing, or only one person is there where
        two are needed.
    """
    permit(actor, ask.deed)
    refuse_unsigned(actor, where=ask.subject, reason_typed=ask.reason)
    return sign(cursor, asking.start(cursor, actor, ask, at=at), actor, at=at)


def bundle(digests: Sequence[str]) -> str:
    """One digest of several things that are signed with one secret."""
    return digests[0] if len(digests) == 1 else secret.digest("\n".join(digests))


def sign(
    cursor: Cursor, request: Request, actor: Actor, *, at: datetime, about: str = ""
) -> Request:
    """Add a person's signature to a request.

    Parameters
    ----------
    about
        `bundle` of what is signed together with it; the request's own digest if not given.

    Raises
    ------
    NotAllowed
        If no role of the actor's may sign it in this place.
    SignatureRefused
        If no secret was given for it, it waits for nobody, or the same person signed before.
    """
    refuse_unsigned(actor, where=request.subject, reason_typed=request.reason)
    if actor.about and actor.about != (about or request.sha256):
        raise _refused(
            request, "the provider was asked about something else.", "Sign it again from its page."
        )
    if request.state not in {"open", "waiting"} and not request.alone:
        raise _refused(
            request,
            f"it waits for no signature: it is {request.state}.",
            "Open the subject again and see how it stands.",
        )
    signed = _signature(cursor, request, actor, role=role_for(request, actor), at=at)
    row = {**asdict(signed), "material": actor.material}
    later = _LATER if request.alone else _SECOND
    ledger.post(
        cursor,
        {"signature": [row | {"step": ledger.next_step(cursor, "signature")}]},
        actor=actor.name,
        action=f"{later if request.signatures else _FIRST}: {request.meaning}",
        subject=request.subject,
        more={"by": actor.told()},
    )
    return replace(request, signatures=(*request.signatures, signed))


def can_sign(request: Request, actor: Actor) -> bool:
    """Whether a request waits for this person's signature."""
    if request.ended or (request.complete and not request.alone):
        return False
    try:
        role_for(request, actor)
    except (SignatureRefused, NotAllowed):
        return False
    return request.asks in {"", actor.person} or not request.signatures


def role_for(request: Request, actor: Actor) -> str:
    """The role in which somebody would sign in the next place.

    Raises
    ------
    NotAllowed
        If no role of theirs may.
    SignatureRefused
        If they signed in the first place.
    """
    if not request.signatures:
        return permit(actor, request.deed)
    first = request.signatures[0]
    if actor.way == "system user" or first.person == actor.person:
        raise _refused(
            request, f"{actor.name} has signed it as the first.", "A second person must sign it."
        )
    if actor.provider and actor.provider == first.provider:
        raise _refused(
            request,
            f"{actor.name} is known at the provider as the person who signed first.",
            "A second person must sign it, under an identity of their own.",
        )
    return permit_beside(actor, request.deed, first=first.role)


def _signature(
    cursor: Cursor, request: Request, actor: Actor, *, role: str, at: datetime
) -> Signature:
    alone = not request.signatures and request.needs == 1 and request.deed in ALONE
    return Signature(
        signature=str(uuid.uuid4()),
        request=request.request,
        place=len(request.signatures) + 1,
        person=actor.person,
        provider=actor.provider,
        name=actor.name,
        role=role,
        meaning=request.meaning,
        reason=request.reason,
        sha256=request.sha256,
        way=actor.way,
        proven_at=actor.proven_at or at,
        one_person=alone and register.one_person(cursor),
        signed_at=at,
    )


def _refused(request: Request, what: str, remedy: str) -> SignatureRefused:
    return SignatureRefused(what, where=request.subject, remedy=remedy, reason_typed=request.reason)
