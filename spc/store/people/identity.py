"""Who acts: a proof in, the person behind it out."""

import getpass
import os
from collections.abc import Callable, Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Any, Final

from spc.errors import NotKnown
from spc.store.file.cursors import Cursor
from spc.store.people import register, secret, sessions, tokens
from spc.store.people.permissions import ROLES
from spc.store.people.proofs import (
    Actor,
    Proof,
    SessionProof,
    SignedProof,
    SystemUserProof,
    TokenProof,
    Way,
    holds,
)
from spc.store.people.register import Person
from spc.store.people.sessions import Session

_SYSTEM: Final = "os:"


def identify(cursor: Cursor, proof: Proof, *, at: datetime) -> Actor:
    """The person behind a proof, as the register knows them now.

    Parameters
    ----------
    proof
        What a door was given as `by=`.
    at
        The moment it is given, UTC.

    Raises
    ------
    NotKnown
        If it is no proof, or one that no longer holds.
    """
    made = _KINDS.get(type(proof))
    if made is None:
        raise _no_proof(proof)
    return made(cursor, proof, at)


def system_user() -> str:
    """The user that the operating system runs this process for."""
    try:
        from pwd import getpwuid  # noqa: PLC0415 - not on every system
    except ImportError:
        return getpass.getuser()
    # Not from the environment, where anybody writes any name.
    return getpwuid(os.getuid()).pw_name


def _by_session(cursor: Cursor, proof: SessionProof, at: datetime) -> Actor:
    session, person = in_session(cursor, secret.digest(proof.key), at=at)
    return _actor(person, "session", session=session)


def _by_token(cursor: Cursor, proof: TokenProof, at: datetime) -> Actor:
    token = tokens.standing(cursor, proof.key, at=at)
    if token is None:
        raise NotKnown(
            "this token opens nothing: it is unknown, too old, or was ended.",
            where="by",
            remedy="Ask an administrator for a new one: `lotheat people token SENDER`.",
        )
    return Actor(person=token.token, name=token.sender, roles=(), way="token", scope=token.scope)


def _by_system(cursor: Cursor, proof: SystemUserProof, at: datetime) -> Actor:  # noqa: ARG001
    if register.ever_opened(cursor):
        raise NotKnown(
            f"people sign in to this store, so the computer's user {proof.user} is nobody here.",
            where="by",
            remedy="Write `by=store.people.signing_as(name, secret=...)`.",
        )
    return machine(proof)


def _by_signature(cursor: Cursor, proof: SignedProof, at: datetime) -> Actor:
    person = register.known_by_id(cursor, proof.person)
    if not holds(proof, at=at) or person is None or person.state != "active":
        raise NotKnown(
            "this signature is no longer fresh: the secret was given more than a minute ago.",
            where="by",
            remedy="Ask for the secret again: `by=store.people.signing(key, secret=...)`.",
        )
    session = in_session(cursor, proof.session, at=at)[0] if proof.session else None
    return _actor(person, proof.way, session=session, signed=proof)


def machine(proof: SystemUserProof) -> Actor:
    """The computer's user as who acts; every role, and nobody beside them.

    Raises
    ------
    NotKnown
        If this process runs for another user.
    """
    if proof.user != system_user():
        raise NotKnown(
            f"this program does not run for the computer's user {proof.user}.",
            where="by",
            remedy="Write `by=store.people.system_user()`.",
        )
    named = f"{_SYSTEM}{proof.user}"
    return Actor(person=named, name=named, roles=ROLES, way="system user", names_first=False)


def second_person(person: Person) -> Actor:
    """Somebody who signed in at the provider to sign beside another, and has no session here."""
    return _actor(person, "provider", session=None)


def in_session(cursor: Cursor, session: str, *, at: datetime) -> tuple[Session, Person]:
    """A session that holds, by the digest of its key, and whose it is.

    Raises
    ------
    NotKnown
        If it ended, was idle too long or is too old, or its person may no longer sign in.
    """
    found = sessions.standing(cursor, session, at=at)
    person = register.known_by_id(cursor, found.person) if found else None
    if found is None or person is None or person.state != "active":
        raise NotKnown(
            "your session has ended.",
            where="by",
            remedy="Sign in again.",
        )
    return found, person


def _actor(
    person: Person, way: Way, *, session: Session | None, signed: SignedProof | None = None
) -> Actor:
    return Actor(
        person=person.person,
        name=person.name,
        roles=person.roles,
        way=way,
        provider=person.provider,
        sign_in=person.sign_in,
        session=session.session if session else "",
        seen_at=session.seen_at if session else None,
        names_first=session is None or session.signed_at is None,
        signed=signed is not None,
        proven_at=signed.proven_at if signed else None,
        about=signed.about if signed else "",
        material=signed.material if signed else "",
    )


def _no_proof(given: object) -> NotKnown:
    """What a text is not; it is not repeated, because it may be somebody's key."""
    what = "a plain text" if isinstance(given, str) else type(given).__name__
    return NotKnown(
        f"{what} is no proof of who acts.",
        where="by",
        remedy="Write `by=store.people.system_user()` on your own machine, or"
        " `by=store.people.signing_as(name, secret=...)`.",
    )


# Exactly these kinds: a class made to look like one of them is none.
_KINDS: Final[Mapping[type, Callable[[Cursor, Any, datetime], Actor]]] = MappingProxyType(
    {
        SessionProof: _by_session,
        TokenProof: _by_token,
        SystemUserProof: _by_system,
        SignedProof: _by_signature,
    }
)
