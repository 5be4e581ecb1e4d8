"""Tokens of senders: a laboratory's program or a watched folder, which signs nothing."""

import json
import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

from spc.errors import RegisterRefused, UnknownName
from spc.store.file.cursors import Cursor, records
from spc.store.people import names, secret
from spc.store.people.permissions import SENDER_DEEDS, permit
from spc.store.people.proofs import Actor
from spc.store.people.signed import refuse_unsigned
from spc.store.record import ledger

MARK: Final = "lh_"
_LONGEST: Final = timedelta(days=400)

TOKENS: Final = """
    select token, sender, scope, until, what = 'ended' as ended, happened_at as since
    from token_event
    qualify row_number() over (partition by token order by step desc) = 1
    order by sender, since
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Token:
    """What a sender may do, until when; `token` is the digest of what it was given."""

    token: str
    sender: str
    scope: tuple[str, ...]
    until: datetime
    ended: bool
    since: datetime

    def stands(self, at: datetime) -> bool:
        """Whether it opens anything at a moment."""
        return not self.ended and at < self.until


@dataclass(frozen=True, slots=True, kw_only=True)
class Grant:
    """What a sender is to be let in for, and until when."""

    sender: str
    scope: tuple[str, ...]
    until: datetime


def tokens(cursor: Cursor) -> tuple[Token, ...]:
    """Every token that was ever issued, by sender."""
    return tuple(
        Token(**{**row, "scope": tuple(json.loads(row["scope"]))})
        for row in records(cursor, TOKENS)
    )


def standing(cursor: Cursor, key: str, *, at: datetime) -> Token | None:
    """The token that a sender shows; None if it is unknown, too old or ended."""
    wanted = secret.digest(key)
    return next((one for one in tokens(cursor) if one.token == wanted and one.stands(at)), None)


def issue(
    cursor: Cursor, actor: Actor, grant: Grant, *, key: str, reason: str, at: datetime
) -> Token:
    """Let a sender in, for a few deeds and a while.

    Parameters
    ----------
    key
        What the sender is given; only its digest is kept.

    Raises
    ------
    NotAllowed
        If the actor is no administrator.
    RegisterRefused
        If the sender has no name, or the token no scope or no end.
    """
    named = names.shown(grant.sender)
    strange = sorted(set(grant.scope) - set(SENDER_DEEDS))
    if strange or not grant.scope:
        raise RegisterRefused(
            f"no token is for {strange[0]!r}." if strange else "the token is for nothing.",
            where=named,
            remedy=f"Choose from: {', '.join(SENDER_DEEDS)}.",
        )
    if not at < grant.until <= at + _LONGEST:
        raise RegisterRefused(
            "a token holds for one day to 400 days.",
            where=named,
            remedy="Give the number of days; issue a new one when it has ended.",
        )
    fresh = Token(
        token=secret.digest(key),
        sender=named,
        scope=grant.scope,
        until=grant.until,
        ended=False,
        since=at,
    )
    _post(cursor, actor, fresh, "issued", reason=reason, at=at)
    return fresh


def end(cursor: Cursor, actor: Actor, token: str, *, reason: str, at: datetime) -> None:
    """End a token by its digest, or by the first signs of it.

    Raises
    ------
    NotAllowed
        If the actor is no administrator.
    UnknownName
        If no token that has not ended begins like this, or several do.
    """
    every = [one for one in tokens(cursor) if not one.ended]
    found = [one for one in every if token and one.token.startswith(token)]
    if len(found) != 1:
        raise UnknownName("token", token, known=[one.token[:12] for one in every])
    _post(cursor, actor, found[0], "ended", reason=reason, at=at)


def _post(
    cursor: Cursor, actor: Actor, one: Token, what: str, *, reason: str, at: datetime
) -> None:
    permit(actor, "issue tokens")
    refuse_unsigned(actor, where=one.sender)
    row: dict[str, Any] = {
        "event": str(uuid.uuid4()),
        "step": ledger.next_step(cursor, "token_event"),
        "token": one.token,
        "what": what,
        "sender": one.sender,
        "scope": json.dumps(list(one.scope)),
        "until": one.until,
        "reason": reason.strip(),
        "signed_by": actor.person,
        "happened_at": at,
    }
    ledger.post(
        cursor,
        {"token_event": [row]},
        actor=actor.name,
        action=f"{what} a token",
        subject=one.sender,
        more={"by": actor.told()},
    )
