"""A desk that knows who acts: each write is somebody's, at a moment of the desk's clock."""

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import TypeAlias, TypeVar

from spc.store.connection import Connection
from spc.store.desks.desk import Desk
from spc.store.file.cursors import Cursor
from spc.store.people.asking import Ask, start
from spc.store.people.business import Business
from spc.store.people.identity import identify
from spc.store.people.permissions import permit
from spc.store.people.proofs import Actor, Proof
from spc.store.people.requests import Request
from spc.store.people.together import together
from spc.store.record import audit

Outcome = TypeVar("Outcome")


# From a cursor to the moment.
Clock: TypeAlias = Callable[[Cursor], datetime]


class KnownDesk(Desk):
    """What the doors of people and signatures do alike.

    Parameters
    ----------
    clock
        Tells the store's moment, UTC without zone; like the audit chain's it never goes back.
    """

    def __init__(self, connection: Connection, *, clock: Clock = audit.moment) -> None:
        super().__init__(connection)
        self._clock = clock

    def _act(self, by: Proof, work: Callable[[Cursor, Actor, datetime], Outcome]) -> Outcome:
        """One transaction of somebody who is known."""

        def known(cursor: Cursor) -> Outcome:
            at = self._clock(cursor)
            return work(cursor, identify(cursor, by, at=at), at)

        return self._write(known)

    def _do(self, deed: str, by: Proof, work: Callable[[Cursor, Actor], Outcome]) -> Outcome:
        """One transaction of somebody who may do a deed: what a door is, in one line.

        Raises
        ------
        NotKnown
            If `by` is no proof of who acts.
        NotAllowed
            If none of their roles may; it names those that may.
        """
        return self._write(lambda cursor: work(cursor, self._permitted(cursor, deed, by)))

    def _write_down(self, by: Proof, made: Callable[[Cursor, Actor], Ask]) -> Request:
        """Write down what is to be signed, by whoever may sign it first; nobody has yet."""

        def work(cursor: Cursor, actor: Actor, at: datetime) -> Request:
            ask = made(cursor, actor)
            permit(actor, ask.deed)
            return start(cursor, actor, ask, at=at)

        return self._act(by, work)

    def _sign_here(
        self,
        by: Proof,
        made: Callable[[Cursor, Actor], Ask],
        *,
        business: Mapping[str, Business],
        second: Proof | None = None,
    ) -> Request:
        """Sign something at its own door, and do it if nobody else must sign it."""

        def work(cursor: Cursor, actor: Actor, at: datetime) -> Request:
            request = together(cursor, actor, made(cursor, actor), second=second, at=at)
            if request.complete:
                last = actor if second is None else identify(cursor, second, at=at)
                business[request.deed].carry_out(cursor, request, actor=last, at=at)
            return request

        return self._act(by, work)

    def _permitted(self, cursor: Cursor, deed: str, by: Proof) -> Actor:
        """Who acts, if they may do this."""
        actor = identify(cursor, by, at=self._clock(cursor))
        permit(actor, deed)
        return actor

    def _moment(self) -> datetime:
        """The store's moment, outside a write."""
        with self._read() as cursor:
            return self._clock(cursor)
