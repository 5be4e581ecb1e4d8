"""The door to the register, to tokens and to house rules: `Store.people`."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from spc.store.approving import history
from spc.store.desks.account_desk import AccountDesk
from spc.store.file.cursors import Cursor
from spc.store.people import accounts, entries, house_rules, identity, register, secret, tokens
from spc.store.people.entries import Entry
from spc.store.people.proofs import Actor, Proof, SystemUserProof
from spc.store.people.register import Person
from spc.store.people.tokens import Grant, Token


class PeopleDesk(AccountDesk):
    """Who works with the store, and what they may do; for administrators."""

    def every(self) -> tuple[Person, ...]:
        """Everybody in the register, by name, also those who left."""
        with self._read() as cursor:
            return register.people(cursor)

    def one(self, person: str) -> Person:
        """Somebody by id or by sign-in name."""
        with self._read() as cursor:
            return register.person(cursor, person)

    def may(self, deed: str, *, by: Proof) -> Actor:
        """Who acts, if they may do a deed; nothing is done.

        Raises
        ------
        NotKnown, NotAllowed
            If it is no proof, or of somebody who may not.
        """
        with self._read() as cursor:
            return self._permitted(cursor, deed, by)

    def history(self, person: str) -> list[dict[str, Any]]:
        """What happened to a person's entry, oldest first."""
        with self._read() as cursor:
            return register.history(cursor, register.person(cursor, person).person)

    def invite(self, entry: Entry, *, by: Proof, reason: str) -> str:
        """Enter a person; returns the code of their invitation, which is told only once."""
        code = secret.code()

        def work(cursor: Cursor, actor: Actor, at: datetime) -> None:
            entered = entries.invite(cursor, actor, entry, reason=reason, at=at)
            accounts.invite(cursor, actor, entered, code=code, at=at)

        self._act(by, work)
        return code

    def invite_again(self, person: str, *, by: Proof) -> str:
        """Let a person choose a new secret; returns the code of the invitation.

        The computer's user may do this for an administrator, so that a house whose last one forgot
        the secret is not locked out; the audit chain tells it.
        """
        code = secret.code()

        def work(cursor: Cursor) -> None:
            at = self._clock(cursor)
            one = register.person(cursor, person)
            if isinstance(by, SystemUserProof) and one.is_administrator:
                actor = identity.machine(by)
            else:
                actor = identity.identify(cursor, by, at=at)
            accounts.invite(cursor, actor, one, code=code, at=at)

        self._write(work)
        return code

    def change(self, person: str, entry: Entry, *, by: Proof, reason: str) -> Person:
        """Change what is known of a person or what they may do; lets in again who had left."""
        return self._act(
            by,
            lambda cursor, actor, at: entries.change(
                cursor, actor, person, entry, reason=reason, at=at
            ),
        )

    def end(self, person: str, *, by: Proof, reason: str) -> None:
        """End a person's access and every session of theirs; what they signed stays."""
        self._act(
            by,
            lambda cursor, actor, at: entries.end(cursor, actor, person, reason=reason, at=at),
        )

    @property
    def first_day(self) -> date | None:
        """The first day of this record; decisions from before it may come in as history."""
        with self._read() as cursor:
            return house_rules.cut_over(cursor)

    @property
    def stands_still(self) -> date | None:
        """The day that this store stands still at; None if it goes by the clock."""
        with self._read() as cursor:
            return house_rules.stands_still(cursor)

    def tokens(self) -> tuple[Token, ...]:
        """Every token that was ever issued, by sender."""
        with self._read() as cursor:
            return tokens.tokens(cursor)

    def issue_token(self, grant: Grant, *, by: Proof, reason: str) -> str:
        """Let a sender in for a few deeds and a while; returns the token, which is told once."""
        key = tokens.MARK + secret.code()
        self._act(
            by,
            lambda cursor, actor, at: tokens.issue(
                cursor, actor, grant, key=key, reason=reason, at=at
            ),
        )
        return key

    def end_token(self, token: str, *, by: Proof, reason: str) -> None:
        """End a token by its digest, or by the first signs of it."""
        self._act(
            by,
            lambda cursor, actor, at: tokens.end(cursor, actor, token, reason=reason, at=at),
        )

    def two_persons(self) -> frozenset[str]:
        """The deeds that need a second person here."""
        with self._read() as cursor:
            return house_rules.two_persons(cursor)

    def groups(self) -> Mapping[str, Mapping[str, str]]:
        """By issuer, the role of each of its groups; of an issuer not in it, the register says."""
        with self._read() as cursor:
            return house_rules.groups(cursor)

    def set_rule(self, name: str, value: object, *, by: Proof, reason: str) -> None:
        """Set a house rule; see `house_rules.put`.

        With the first cut-over date, the specifications and corrections that wait and were valid
        before it are taken in as history.
        """

        def work(cursor: Cursor, actor: Actor, at: datetime) -> None:
            is_first = name == house_rules.CUT_OVER and house_rules.cut_over(cursor) is None
            house_rules.put(cursor, actor, name, value, reason=reason, at=at)
            if is_first:
                history.take_in(cursor, actor, day=date.fromisoformat(str(value)), at=at)

        self._act(by, work)
