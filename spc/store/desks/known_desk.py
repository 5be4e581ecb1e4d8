"""A desk that knows who acts: each write is somebody's, at a moment of the desk's clock."""

from collections.abc import Callable
from datetime import datetime
from typing import TypeAlias, TypeVar

from spc.store.connection import Connection
from spc.store.desks.desk import Desk
from spc.store.file.cursors import Cursor
from spc.store.people.identity import identify
from spc.store.people.permissions import permit
from spc.store.people.proofs import Actor, Proof
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

    def _permitted(self, cursor: Cursor, deed: str, by: Proof) -> Actor:
        """Who acts, if they may do this."""
        actor = identify(cursor, by, at=self._clock(cursor))
        permit(actor, deed)
        return actor

    def _moment(self) -> datetime:
        """The store's moment, outside a write."""
        with self._read() as cursor:
            return self._clock(cursor)
