"""Invitations and local accounts: a code used once, a secret, and a lock after wrong ones."""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from spc.errors import RegisterRefused, SignInRefused
from spc.store.file.cursors import Cursor
from spc.store.people import entries, names, register, secret, sessions
from spc.store.people.permissions import permit
from spc.store.people.proofs import STORE, Actor
from spc.store.people.register import Person
from spc.store.people.signed import refuse_unsigned
from spc.store.record import ledger, rows

INVITATION_HOLDS: Final = timedelta(hours=72)
TRIES: Final = 5
LOCKED_FOR: Final = timedelta(minutes=15)

# Of several invitations of a person the last one counts, and none counts twice.
OPEN_INVITATION: Final = """
    with latest as (
        select *
        from invitation
        qualify row_number() over (partition by person order by step desc) = 1
    )
    select person
    from latest
    anti join account using (invitation)
    where invitation = $invitation and until > $at
"""

COUNT: Final = "select wrong, locked_until from sign_in_count where person = $person"

LATEST_HASH: Final = """
    select encoded
    from account_secret
    join account using (account)
    order by step desc
    limit 1
"""


def invite(cursor: Cursor, actor: Actor, one: Person, *, code: str, at: datetime) -> None:
    """Let a person open an account, or another one in the place of theirs.

    Parameters
    ----------
    code
        What is handed to the person; only its digest is kept.

    Raises
    ------
    NotAllowed
        If the actor is no administrator.
    RegisterRefused
        If the person's access has ended.
    """
    permit(actor, "register people")
    refuse_unsigned(actor, where="people")
    if one.state == "ended":
        raise RegisterRefused(
            "this person's access has ended.",
            where=one.name,
            remedy="Change their entry first, which lets them in again.",
        )
    row = {
        "invitation": secret.digest(code),
        "step": ledger.next_step(cursor, "invitation"),
        "person": one.person,
        "invited_by": actor.person,
        "invited_at": at,
        "until": at + INVITATION_HOLDS,
    }
    ledger.post(
        cursor,
        {"invitation": [row]},
        actor=actor.name,
        action="invited to an account" if one.state == "invited" else "invited to a new secret",
        subject=one.name,
        more={"by": actor.told()},
    )


def invited(cursor: Cursor, code: str, *, at: datetime) -> Person:
    """Whom an invitation is for.

    Raises
    ------
    SignInRefused
        If it is not known, too old, used, or replaced by another.
    """
    found = cursor.execute(
        OPEN_INVITATION, {"invitation": secret.digest(code), "at": at}
    ).fetchone()
    one = register.known_by_id(cursor, found[0]) if found else None
    if one is None or one.state == "ended":
        raise SignInRefused(
            "this invitation is not open: it was used, replaced, or is older than 72 hours.",
            where="invitation",
            remedy="Ask an administrator for a new one.",
        )
    return one


def open_by_secret(cursor: Cursor, code: str, encoded: str, *, at: datetime) -> Person:
    """Open an account by an invitation and the hash of a secret; the one before no longer counts.

    Raises
    ------
    SignInRefused
        If the invitation is not open, or nobody who administers has an account yet.
    """
    one = _let_in(cursor, code, at=at)
    account = entries.account_row(
        cursor,
        one.person,
        "secret",
        sha256=secret.digest(encoded),
        invitation=secret.digest(code),
        at=at,
    )
    rows.insert(cursor, "account_secret", [{"account": account["account"], "encoded": encoded}])
    _post_account(cursor, one, account)
    _count(cursor, one.person, wrong=0, locked_until=None)
    sessions.end_all(cursor, one.person, at=at)
    return one


def open_at_provider(cursor: Cursor, code: str, provider: str, *, at: datetime) -> Person:
    """Bind a provider's identity to the person whom an invitation is for.

    Raises
    ------
    RegisterRefused
        If somebody else is known by this identity.
    SignInRefused
        If the invitation is not open, or nobody who administers has an account yet.
    """
    one = _let_in(cursor, code, at=at)
    bound = entries.bound(cursor, one, provider)
    account = entries.account_row(
        cursor, one.person, "provider", invitation=secret.digest(code), at=at
    )
    itself = Actor(person=one.person, name=one.name, roles=one.roles, way="provider")
    entries.post(
        cursor,
        bound,
        "changed",
        by=itself,
        reason="accepted the invitation at the provider",
        at=at,
        beside={"account": [account]},
    )
    return replace(bound, state="active", way="provider")


def uncounted(cursor: Cursor, person: str) -> bool:
    """Whether a right secret opens an account and changes nothing: no wrong one is counted."""
    one = register.known_by_id(cursor, person)
    count = cursor.execute(COUNT, {"person": person}).fetchone()
    return one is not None and one.state == "active" and count is None


def reckon(cursor: Cursor, person: str, *, right: bool, at: datetime) -> bool:
    """Count a try to give a person's secret; whether it opens anything.

    A right one during a lock opens nothing.  The count and the lock are kept although the try is
    refused, so this must be a write of its own.
    """
    one = register.known_by_id(cursor, person)
    if one is None:
        return False
    wrong, locked_until = cursor.execute(COUNT, {"person": person}).fetchone() or (0, None)
    if locked_until is not None and at < locked_until:
        return False
    if right:
        if wrong:
            _count(cursor, person, wrong=0, locked_until=None)
        return one.state == "active"
    wrong += 1
    lock = at + LOCKED_FOR if wrong >= TRIES else None
    _count(cursor, person, wrong=0 if lock else wrong, locked_until=lock)
    if lock:
        entries.post(cursor, one, "locked", by=STORE, reason=f"{TRIES} wrong secrets", at=at)
    return False


def who_signs_in(cursor: Cursor, typed: str) -> str:
    """Id of who signs in by a name, as somebody typed it, and a secret; empty for nobody."""
    wanted = names.as_typed(typed)
    found = [one for one in register.people(cursor) if one.sign_in == wanted]
    return found[0].person if found and found[0].way == "secret" else ""


def like_the_others(cursor: Cursor) -> str:
    """A hash that costs what those of this store cost; empty where there is none."""
    like = cursor.execute(LATEST_HASH).fetchone()
    return str(like[0]) if like else ""


def _let_in(cursor: Cursor, code: str, *, at: datetime) -> Person:
    one = invited(cursor, code, at=at)
    entries.refuse_first(cursor, one)
    return one


def _post_account(cursor: Cursor, one: Person, account: ledger.Row) -> None:
    itself = Actor(person=one.person, name=one.name, roles=one.roles, way="secret")
    ledger.post(
        cursor,
        {"account": [account]},
        actor=one.name,
        action="opened an account" if one.state == "invited" else "chose a new secret",
        subject=one.name,
        more={"by": itself.told()},
    )


def _count(cursor: Cursor, person: str, *, wrong: int, locked_until: datetime | None) -> None:
    cursor.execute("delete from sign_in_count where person = $person", {"person": person})
    if wrong or locked_until:
        cursor.execute(
            "insert into sign_in_count values ($person, $wrong, $locked_until)",
            {"person": person, "wrong": wrong, "locked_until": locked_until},
        )
