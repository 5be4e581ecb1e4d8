"""Entries of the register: a person is invited, changed and ended by a signed event each."""

import json
import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from types import MappingProxyType
from typing import Final, Literal

from spc.errors import RegisterRefused, SignInRefused
from spc.store.file.cursors import Cursor
from spc.store.people import names, sessions
from spc.store.people.lookalikes import likeness
from spc.store.people.permissions import ADMINISTRATOR, ROLES, permit
from spc.store.people.proofs import Actor
from spc.store.people.register import Person, ever_opened, people, person
from spc.store.people.signed import refuse_unsigned
from spc.store.record import ledger

Event = Literal["invited", "changed", "ended", "locked"]

_SHORTEST_REASON: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What an administrator says of a person; None leaves a fact as it is."""

    name: str | None = None
    sign_in: str | None = None
    roles: tuple[str, ...] | None = None
    email: str | None = None
    provider: str | None = None


def invite(cursor: Cursor, actor: Actor, entry: Entry, *, reason: str, at: datetime) -> Person:
    """Enter a person; they cannot sign in before they accept an invitation.

    Raises
    ------
    NotAllowed
        If the actor is no administrator.
    RegisterRefused
        If a fact is missing, or somebody has that name or one that looks the same.
    """
    _refuse_stranger(actor)
    fresh = Person(person=str(uuid.uuid4()), name="", sign_in="", roles=(), since=at)
    entered = settled(cursor, fresh, entry)
    post(cursor, entered, "invited", by=actor, reason=_reason(reason), at=at)
    return entered


def change(
    cursor: Cursor, actor: Actor, named: str, entry: Entry, *, reason: str, at: datetime
) -> Person:
    """Change what is known of a person, or what they may do; lets in again who had left.

    Raises
    ------
    NotAllowed
        If the actor is no administrator.
    RegisterRefused
        If it would change nothing, or leave the store without an administrator.
    UnknownName
        If there is no such person.
    """
    _refuse_stranger(actor)
    before = person(cursor, named)
    after = settled(cursor, before, entry)
    if before.state == "ended":
        after = replace(after, state="invited")
    if after == before:
        raise RegisterRefused(
            "nothing would change.",
            where=before.name,
            remedy="Say what is new: name, sign-in name, roles, e-mail or provider identity.",
        )
    refuse_without_administrator(cursor, before, after)
    post(cursor, after, "changed", by=actor, reason=_reason(reason), at=at)
    return after


def end(cursor: Cursor, actor: Actor, named: str, *, reason: str, at: datetime) -> Person:
    """End a person's access; what they signed stays, and so does their name.

    Raises
    ------
    NotAllowed
        If the actor is no administrator.
    RegisterRefused
        If they left already, or no administrator would be left.
    UnknownName
        If there is no such person.
    """
    _refuse_stranger(actor)
    before = person(cursor, named)
    if before.state == "ended":
        raise RegisterRefused(
            "this person's access has ended already.",
            where=before.name,
            remedy="Invite them again if they come back.",
        )
    after = replace(before, state="ended")
    refuse_without_administrator(cursor, before, after)
    closed = account_row(cursor, after.person, "closed", at=at)
    told = _reason(reason)
    post(cursor, after, "ended", by=actor, reason=told, at=at, beside={"account": [closed]})
    sessions.end_all(cursor, after.person, at=at)
    return after


def end_sessions(cursor: Cursor, actor: Actor, named: str, *, at: datetime) -> None:
    """End every session of a person: one's own, or as an administrator anybody's.

    Raises
    ------
    NotAllowed
        If they are somebody else's and the actor is no administrator.
    UnknownName
        If there is no such person.
    """
    one = person(cursor, named)
    if one.person != actor.person:
        permit(actor, "register people")
    sessions.end_all(cursor, one.person, at=at)


def bound(cursor: Cursor, one: Person, provider: str) -> Person:
    """A person with an identity at a provider, which nobody else may have.

    Raises
    ------
    RegisterRefused
        If somebody else is known by it.
    """
    return settled(cursor, one, Entry(provider=provider))


def settled(cursor: Cursor, before: Person, entry: Entry) -> Person:
    """A person with the facts of an entry, each in its one spelling and none like another's.

    Raises
    ------
    RegisterRefused
        If a fact is missing or misspelt, or somebody has that name or one that looks the same.
    """
    after = replace(
        before,
        name=before.name if entry.name is None else names.shown(entry.name),
        sign_in=before.sign_in if entry.sign_in is None else names.sign_in_name(entry.sign_in),
        roles=before.roles if entry.roles is None else _roles(entry.roles),
        email=before.email if entry.email is None else entry.email.strip(),
        provider=before.provider if entry.provider is None else _provider(entry.provider),
    )
    if not (after.name and after.sign_in and after.roles):
        raise RegisterRefused(
            "a person needs a name, a name to sign in with and a role.",
            where=after.name or after.sign_in or "people",
            remedy=f"Give all three; roles are {', '.join(ROLES)}.",
        )
    _refuse_double(after, [one for one in people(cursor) if one.person != before.person])
    return after


def refuse_without_administrator(cursor: Cursor, before: Person, after: Person) -> None:
    """Refuse a change after which nobody may register people.

    Raises
    ------
    RegisterRefused
        If a person is the last administrator who can sign in, and would no longer be one.
    """
    others = (one for one in people(cursor) if one.person != before.person)
    stays = after.is_administrator or not before.is_administrator
    if not (stays or any(one.is_administrator for one in others)):
        raise RegisterRefused(
            "nobody would be left who may register people.",
            where=before.name,
            remedy="Make somebody else an administrator first.",
        )


def refuse_first(cursor: Cursor, one: Person) -> None:
    """Refuse a first account that would leave the store without an administrator.

    Raises
    ------
    SignInRefused
        If nobody has an account yet, and this person is no administrator.
    """
    if ADMINISTRATOR not in one.roles and not ever_opened(cursor):
        raise SignInRefused(
            "the first account of a store must be an administrator's.",
            where=one.name,
            remedy="Let an administrator accept an invitation first.",
        )


def post(  # noqa: PLR0913 - an event has these parts
    cursor: Cursor,
    one: Person,
    what: Event,
    *,
    by: Actor,
    reason: str,
    at: datetime,
    beside: Mapping[str, Sequence[ledger.Row]] = MappingProxyType({}),
) -> None:
    """Write what happened to a person, with all that is known of them after it.

    Parameters
    ----------
    beside
        Rows of other tables that came about by the same act.
    """
    row = {
        "event": str(uuid.uuid4()),
        "step": ledger.next_step(cursor, "person_event"),
        "person": one.person,
        "what": what,
        "name": one.name,
        "sign_in": one.sign_in,
        "roles": json.dumps(list(one.roles)),
        "email": one.email,
        "provider": one.provider,
        "reason": reason,
        "signed_by": by.person,
        "happened_at": at,
    }
    ledger.post(
        cursor,
        {"person_event": [row], **beside},
        actor=by.name,
        action=f"{what} a person",
        subject=one.name,
        more={"by": by.told()},
    )


def account_row(
    cursor: Cursor, person: str, way: str, *, sha256: str = "", invitation: str = "", at: datetime
) -> ledger.Row:
    """How a person signs in from now on; `closed` for not at all."""
    return {
        "account": str(uuid.uuid4()),
        "step": ledger.next_step(cursor, "account"),
        "person": person,
        "way": way,
        "invitation": invitation,
        "secret_sha256": sha256,
        "opened_at": at,
    }


def _refuse_stranger(actor: Actor) -> None:
    permit(actor, "register people")
    refuse_unsigned(actor, where="people")


def _refuse_double(after: Person, others: Iterable[Person]) -> None:
    """Also somebody who left keeps their names: what they signed must not look another's."""
    for other in others:
        for mine, theirs, what in (
            (likeness(after.name), likeness(other.name), "name"),
            (likeness(after.sign_in), likeness(other.sign_in), "sign-in name"),
            (after.provider or after.person, other.provider, "provider identity"),
        ):
            if mine == theirs:
                raise RegisterRefused(
                    f"{other.name} ({other.sign_in}) has this {what}, or one that looks the same.",
                    where=after.name,
                    remedy="If it is the same person, change their entry; if not, tell them apart"
                    " by a middle name or a number.",
                )


def _roles(roles: tuple[str, ...]) -> tuple[str, ...]:
    strange = sorted(set(roles) - set(ROLES))
    if strange or not roles:
        raise RegisterRefused(
            f"there is no role {strange[0]!r}." if strange else "no role is given.",
            where="roles",
            remedy=f"Choose from: {', '.join(ROLES)}.",
        )
    return tuple(role for role in ROLES if role in roles)


def _provider(identity: str) -> str:
    issuer, mark, subject = identity.strip().partition("#")
    if identity.strip() and not (issuer and mark and subject):
        raise RegisterRefused(
            f"{identity!r} names nobody at a provider.",
            where="provider identity",
            remedy="Give issuer and subject as the provider tells them: https://issuer#subject.",
        )
    return identity.strip()


def _reason(reason: str) -> str:
    told = " ".join(reason.split())
    if sum(character.isalnum() for character in told) < _SHORTEST_REASON:
        raise RegisterRefused(
            "the entry has no reason.",
            where="people",
            remedy="Say in a few words why, such as: joins the laboratory.",
        )
    return told
