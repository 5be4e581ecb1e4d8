"""A desk that knows who acts: each write is somebody's, at a moment of the desk's clock."""

from collections.abc import Callable
from datetime import datetime
from typing import TypeVar

from spc.store.connection import Connection
from spc.store.desks.desk import Desk
from spc.store.file.cursors import Cursor, now
from spc.store.people.identity import identify
from spc.store.people.proofs import Actor, Proof

Outcome = TypeVar("Outcome")


class KnownDesk(Desk):
    """What the doors of people and signatures do alike.

    Parameters
    ----------
    clock
        Tells the moment, UTC without zone.
    """

    def __init__(self, connection: Connection, *, clock: Callable[[], datetime] = now) -> None:
        super().__init__(connection)
        self._clock = clock

    def _act(self, by: Proof, work: Callable[[Cursor, Actor, datetime], Outcome]) -> Outcome:
        """One transaction of somebody who is known."""

        def known(cursor: Cursor) -> Outcome:
            at = self._clock()
            return work(cursor, identify(cursor, by, at=at), at)

        return self._write(known)
