"""Two persons at one screen: the first signs, and the second at once beside them."""

from datetime import datetime

from spc.errors import SignatureRefused
from spc.store.file.cursors import Cursor
from spc.store.people.asking import Ask
from spc.store.people.identity import identify
from spc.store.people.proofs import Actor, Proof
from spc.store.people.requests import Request
from spc.store.people.signatures import begin, sign


def together(
    cursor: Cursor, actor: Actor, ask: Ask, *, second: Proof | None, at: datetime
) -> Request:
    """Sign something as the first person, and as the second where one is there.

    Returns
    -------
    Request
        `complete`, or waiting for a second person who is not there.

    Raises
    ------
    NotAllowed, SignatureRefused
        If one of the two may not sign it, or did not.
    """
    request = begin(cursor, actor, ask, at=at)
    if second is None:
        return request
    return sign(cursor, request, identify(cursor, second, at=at), at=at)


def whole(request: Request) -> Request:
    """A request that everybody has signed who must.

    Raises
    ------
    SignatureRefused
        If a second person is still to sign, where that cannot be later.
    """
    if not request.complete:
        raise SignatureRefused(
            f"to {request.deed} needs a second person's signature.",
            where=request.subject,
            remedy="Have them sign beside you: `second=store.people.signing_as(name, secret=...)`.",
            reason_typed=request.reason,
        )
    return request
