"""The door to accounts: signing in and out, and proofs of who acts: part of `Store.people`."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

import pandas as pd

from spc.errors import SignInRefused
from spc.store.connection import Connection
from spc.store.desks.known_desk import Clock, KnownDesk
from spc.store.file.cursors import Cursor
from spc.store.people import accounts, entries, identity, names, provider, register, sessions
from spc.store.people import secret as secrets
from spc.store.people.proofs import (
    Actor,
    Proof,
    SessionProof,
    SignedProof,
    SystemUserProof,
    TokenProof,
    sealed,
)
from spc.store.people.provider import Answer, Claims
from spc.store.people.register import Person
from spc.store.people.secret import STANDARD, Cost
from spc.store.record import audit

# One sentence for an unknown name, a wrong secret and a locked account; a stranger learns nothing.
_REFUSED: Final = "name and secret do not open an account."
_REMEDY: Final = (
    "Try again; after five wrong secrets an account is locked for 15 minutes. An administrator can"
    " invite you anew."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tried:
    """Whose secret is tried; without a hash it takes as long as `like` would, and is wrong."""

    person: str
    encoded: str
    like: str


class AccountDesk(KnownDesk):
    """Accounts and sessions of one store.

    Parameters
    ----------
    clock
        Tells the moment, UTC without zone.
    cost
        What hashing a secret costs from now on; each hash keeps the cost it was made with.
    """

    def __init__(
        self,
        connection: Connection,
        *,
        clock: Clock = audit.moment,
        cost: Cost = STANDARD,
    ) -> None:
        super().__init__(connection, clock=clock)
        self._cost = cost

    @property
    def alone(self) -> bool:
        """Whether nobody has ever had an account, so that the computer's user acts."""
        with self._read() as cursor:
            return not register.ever_opened(cursor)

    def session(self, key: str) -> SessionProof:
        """A proof from the cookie of a browser."""
        return SessionProof(key=key)

    def token(self, key: str) -> TokenProof:
        """A proof from the token of a sender."""
        return TokenProof(key=key)

    def system_user(self) -> SystemUserProof:
        """A proof from the operating system; for a store in which nobody has an account."""
        return SystemUserProof(user=identity.system_user())

    def signing(self, key: str, *, secret: str, name: str = "") -> SignedProof:
        """A proof that the person of a session has just given their secret.

        Parameters
        ----------
        name
            Their sign-in name; needed at the first signature of a session.

        Raises
        ------
        NotKnown
            If the session has ended.
        SignInRefused
            If name and secret are not theirs.
        """
        with self._read() as cursor:
            at = self._clock(cursor)
            actor = identity.identify(cursor, SessionProof(key=key), at=at)
            tried = self._tried(cursor, actor.person)
        if (name or actor.names_first) and names.as_typed(name) != actor.sign_in:
            tried = replace(tried, encoded="")
        self._reckon(tried, secret, session=actor.session if actor.names_first else "")
        return _given(actor.person, session=actor.session, at=self._moment())

    def signing_as(self, name: str, *, secret: str) -> SignedProof:
        """A proof by name and secret alone: a second person at the same screen, or a program.

        Raises
        ------
        SignInRefused
            If name and secret do not belong together.
        """
        return _given(self._checked(name, secret), session="", at=self._moment())

    def signed_at_provider(
        self, key: str, answer: Answer, *, about: str, asked_at: datetime
    ) -> SignedProof:
        """A proof from a fresh sign-in at the provider, good for one thing to sign.

        Parameters
        ----------
        key
            Of the session whose person signs; empty for a second person in the same browser, who
            has none there.
        answer
            From a token that the server has checked against the provider's keys.
        about
            SHA-256 of what is signed, which the answer must carry; see `signatures.bundle`.
        asked_at
            When the person was sent to the provider, UTC without zone.

        Raises
        ------
        NotKnown
            If the session has ended.
        SignatureRefused
            If the answer is somebody else's, about something else, or too old.
        """
        actor = self.who(SessionProof(key=key)) if key else self._meant(answer)
        proven = provider.checked(actor, answer, about=about, asked_at=asked_at)
        return sealed(
            SignedProof(
                person=actor.person,
                session=actor.session,
                way="provider",
                given_at=self._moment(),
                proven_at=proven,
                about=about,
                material=answer.material(),
            )
        )

    def _meant(self, answer: Answer) -> Actor:
        with self._read() as cursor:
            person = provider.meant(cursor, answer)
        return identity.second_person(person)

    def who(self, proof: Proof) -> Actor:
        """Who is behind a proof; notes at most every five minutes that a session is used.

        Raises
        ------
        NotKnown
            If it no longer holds.
        """
        with self._read() as cursor:
            at = self._clock(cursor)
            actor = identity.identify(cursor, proof, at=at)
        if sessions.due(actor.seen_at, at=at):
            self._write(lambda cursor: sessions.seen(cursor, actor.session, at=at))
        return actor

    def invited(self, code: str) -> Person:
        """Whom an invitation is for."""
        with self._read() as cursor:
            return accounts.invited(cursor, code, at=self._clock(cursor))

    def accept(self, code: str, *, secret: str) -> str:
        """Open the account of an invitation with a secret; returns the key of a session.

        Raises
        ------
        SignInRefused
            If the invitation is not open, or the secret too easy to guess.
        """
        one = self.invited(code)
        secrets.refuse_weak(secret, names=(one.name, one.sign_in, one.email))
        encoded = secrets.hashed(secret, self._cost)
        return self._opened(
            "secret", lambda cursor, at: accounts.open_by_secret(cursor, code, encoded, at=at)
        )

    def join(self, code: str, claims: Claims) -> str:
        """Bind who signed in at the provider to an invitation; returns the key of a session."""
        return self._opened(
            "provider",
            lambda cursor, at: accounts.open_at_provider(cursor, code, claims.identity, at=at),
        )

    def sign_in(self, name: str, *, secret: str) -> str:
        """Sign in with a local account; returns the key of a session.

        Raises
        ------
        SignInRefused
            If the name is unknown, the secret wrong or the account locked; it does not say which.
        """
        person = self._checked(name, secret)
        return self._opened("secret", lambda cursor, _at: register.person(cursor, person))

    def sign_in_at_provider(self, claims: Claims) -> str:
        """Sign in whom the provider knows; returns the key of a session.

        Raises
        ------
        SignInRefused
            If the register does not let them in.
        """
        return self._opened("provider", lambda cursor, at: provider.known(cursor, claims, at=at))

    def sessions(self, person: str) -> pd.DataFrame:
        """Sessions of a person that still hold: session, way, opened_at, seen_at."""
        with self._read() as cursor:
            named = register.person(cursor, person).person
            return sessions.of_person(cursor, named, at=self._clock(cursor))

    def end_session(self, key: str) -> None:
        """End the session of a key: signing out."""
        session = secrets.digest(key)
        self._write(lambda cursor: sessions.end(cursor, session, at=self._clock(cursor)))

    def end_sessions(self, person: str, *, by: Proof) -> None:
        """End every session of a person: one's own, or as an administrator anybody's."""
        self._act(by, lambda cursor, actor, at: entries.end_sessions(cursor, actor, person, at=at))

    def _opened(self, way: str, enter: Callable[[Cursor, datetime], Person]) -> str:
        """A session of whoever enters, in the same transaction; returns its key."""
        key = secrets.code()

        def work(cursor: Cursor) -> None:
            at = self._clock(cursor)
            sessions.start(cursor, enter(cursor, at).person, key=key, way=way, at=at)

        self._write(work)
        return key

    def _checked(self, name: str, secret: str) -> str:
        """Who gave the right secret with a sign-in name."""
        with self._read() as cursor:
            tried = self._tried(cursor, accounts.who_signs_in(cursor, name))
        self._reckon(tried, secret)
        return tried.person

    def _tried(self, cursor: Cursor, person: str) -> _Tried:
        encoded = register.encoded(cursor, person)
        return _Tried(person=person, encoded=encoded, like=accounts.like_the_others(cursor))

    def _reckon(self, tried: _Tried, secret: str, *, session: str = "") -> None:
        """Refuse a wrong secret, and count it; the hashing is done while others may write.

        Parameters
        ----------
        session
            In which a signature is given with name and secret for the first time.
        """
        right = bool(tried.encoded) and secrets.matches(secret, tried.encoded)
        if not tried.encoded:
            secrets.waste(secret, like=tried.like, cost=self._cost)
        if right and not session and self._uncounted(tried.person):
            return

        def work(cursor: Cursor) -> bool:
            at = self._clock(cursor)
            opened = accounts.reckon(cursor, tried.person, right=right, at=at)
            if opened and session:
                sessions.signed(cursor, session, at=at)
            return opened

        if not self._write(work):
            raise SignInRefused(_REFUSED, where="sign-in", remedy=_REMEDY)

    def _uncounted(self, person: str) -> bool:
        with self._read() as cursor:
            return accounts.uncounted(cursor, person)


def _given(person: str, *, session: str, at: datetime) -> SignedProof:
    return sealed(
        SignedProof(person=person, session=session, way="secret", given_at=at, proven_at=at)
    )
