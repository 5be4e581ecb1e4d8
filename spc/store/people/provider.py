"""What the company's provider tells of a person, and whom of the register it means.

The signature of the provider's token is checked by the server, which knows its keys; here counts
what the token says.
"""

import json
import re
import uuid
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Final

from spc.errors import SignatureRefused, SignInRefused
from spc.store.file.cursors import Cursor
from spc.store.people import entries, house_rules, names, register
from spc.store.people.permissions import ROLES
from spc.store.people.proofs import Actor
from spc.store.people.register import Person

# The provider's clock and ours may differ by so much.
_SKEW: Final = timedelta(seconds=5)
_FRESH: Final = timedelta(minutes=5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Claims:
    """What a checked token says of the person; `groups` as the provider names them."""

    iss: str
    sub: str
    name: str = ""
    email: str = ""
    groups: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not self.iss or "#" in self.iss or not self.sub:
            raise SignInRefused(
                f"{self.iss!r} with subject {self.sub!r} is no issuer and subject.",
                where="provider",
                remedy="Check the address of the provider in the settings of this server.",
            )

    @property
    def identity(self) -> str:
        """Issuer and subject, which together name one person for good."""
        return f"{self.iss}#{self.sub}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A fresh sign-in at the provider, asked for one signature.

    Attributes
    ----------
    nonce
        SHA-256 of what is signed, as the token gives it back.
    auth_time
        When the person gave their secret there, in seconds since 1970.
    id_token, keys
        The token and the provider's key set as they came, kept so that the answer can be checked
        again later.
    """

    iss: str
    sub: str
    nonce: str
    auth_time: int
    id_token: str
    keys: str

    def material(self) -> str:
        """What of it is kept with the signature."""
        return json.dumps({"id_token": self.id_token, "keys": self.keys}, sort_keys=True)


def known(cursor: Cursor, claims: Claims, *, at: datetime) -> Person:
    """The person whom a provider means, entered or brought up to date by its groups.

    Where the house gives the groups of an issuer roles, those are the person's; else the register
    alone says who may sign in and as what.

    Raises
    ------
    RegisterRefused
        If a new person's name looks like that of somebody in the register.
    SignInRefused
        If nobody here is meant, their access has ended, or no group of theirs has a role.
    """
    mapping = house_rules.groups(cursor).get(claims.iss)
    found = [one for one in register.people(cursor) if one.provider == claims.identity]
    one = found[0] if found else None
    if one is not None and one.state == "ended":
        raise _stranger(claims, "their access has ended")
    if mapping is None:
        if one is None:
            raise _stranger(claims, "no person of the register has this identity")
        return one if one.way == "provider" else _opened(cursor, one, at=at)
    roles = tuple(role for role in ROLES if role in {mapping.get(one) for one in claims.groups})
    if not roles:
        raise _stranger(claims, "none of their groups has a role")
    return _up_to_date(cursor, one, claims, roles, at=at)


def meant(cursor: Cursor, answer: Answer) -> Person:
    """Whom of the register an answer to a signature means.

    Raises
    ------
    SignatureRefused
        If nobody who may sign in is known by this identity.
    """
    identity = f"{answer.iss}#{answer.sub}"
    found = [one for one in register.people(cursor) if one.provider == identity]
    if not found or found[0].state != "active":
        raise SignatureRefused(
            "nobody here is known by the identity that signed in at the provider.",
            where="provider",
            remedy="Sign in here once with it, or ask an administrator to enter it.",
        )
    return found[0]


def checked(person: Actor, answer: Answer, *, about: str, asked_at: datetime) -> datetime:
    """When the provider checked the person for what is signed.

    Raises
    ------
    SignatureRefused
        If somebody else signed in there, something else was asked for, or the sign-in is older
        than the question.
    """
    signed_in = (answer.iss, "#", answer.sub)
    proven = datetime.fromtimestamp(answer.auth_time, UTC).replace(tzinfo=None)
    for wrong, what in (
        (signed_in != person.provider.partition("#"), "somebody else signed in there"),
        (answer.nonce != about or not about, "its answer is about something else"),
        (proven < asked_at - _SKEW, "the sign-in is older than the question"),
        (proven > asked_at + _FRESH, "the sign-in came too long after the question"),
    ):
        if wrong:
            raise SignatureRefused(
                f"the provider's answer does not sign this: {what}.",
                where=person.name,
                remedy="Sign again, and sign in at the provider as yourself when it asks.",
            )
    return proven


def _up_to_date(
    cursor: Cursor, before: Person | None, claims: Claims, roles: tuple[str, ...], *, at: datetime
) -> Person:
    if before is None:
        entry = entries.Entry(
            name=claims.name,
            sign_in=_sign_in(claims),
            roles=roles,
            email=claims.email,
            provider=claims.identity,
        )
        fresh = Person(person=str(uuid.uuid4()), name="", sign_in="", roles=())
        return _opened(cursor, entries.settled(cursor, fresh, entry), at=at)
    after = replace(before, roles=roles)
    if before.way != "provider":
        return _opened(cursor, after, at=at)
    if after != before:
        entries.refuse_without_administrator(cursor, before, after)
        told = "its groups have other roles"
        entries.post(cursor, after, "changed", by=_itself(claims.iss), reason=told, at=at)
    return after


def _opened(cursor: Cursor, one: Person, *, at: datetime) -> Person:
    """The first sign-in at the provider is what opens an account."""
    entries.refuse_first(cursor, one)
    account = entries.account_row(cursor, one.person, "provider", at=at)
    what: entries.Event = "invited" if one.since is None else "changed"
    entries.post(
        cursor,
        one,
        what,
        by=_itself(one.provider.partition("#")[0]),
        reason="signed in at the provider",
        at=at,
        beside={"account": [account]},
    )
    return replace(one, state="active", way="provider")


def _itself(issuer: str) -> Actor:
    return Actor(person="", name=f"provider {issuer}", roles=(), way="rule")


def _sign_in(claims: Claims) -> str:
    """Never typed by those who sign in at the provider, but a register needs one."""
    named = claims.email or f"{claims.sub}@{claims.iss.partition('//')[2].partition('/')[0]}"
    return re.sub(r"[^a-z0-9._+@-]", "-", names.as_typed(named))


def _stranger(claims: Claims, why: str) -> SignInRefused:
    return SignInRefused(
        f"the provider knows {claims.name or claims.sub}, but this store does not let them in:"
        f" {why}.",
        where=claims.iss,
        remedy="Ask an administrator to enter you with this identity, or to give a group of yours"
        f" a role: {claims.identity}",
    )
