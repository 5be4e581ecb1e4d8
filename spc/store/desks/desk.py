"""What every door of the store does alike: read in one state, write in one transaction."""

import contextlib
import uuid
from collections.abc import Callable, Iterator
from typing import TypeVar

from spc.errors import StoreError
from spc.store.connection import Connection
from spc.store.file.cursors import Cursor

Outcome = TypeVar("Outcome")


class Desk:
    """A group of calls on one store; safe to use from many threads of one process."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    @contextlib.contextmanager
    def _read(self) -> Iterator[Cursor]:
        """A cursor that sees one consistent state of the store."""
        with self._connection.read() as cursor:
            yield cursor

    @contextlib.contextmanager
    def _suppose(self) -> Iterator[Cursor]:
        """A cursor that may write, to see what follows; nothing of it is kept."""
        with self._connection.supposing() as cursor:
            yield cursor

    def _write(self, work: Callable[[Cursor], Outcome]) -> Outcome:
        """One transaction under a fresh token, so that a retry cannot write it twice."""
        outcome: list[Outcome] = []

        def once(cursor: Cursor) -> None:
            outcome[:] = [work(cursor)]

        self._connection.write(once, token=str(uuid.uuid4()))
        if not outcome:
            raise StoreError("the write was not done.", remedy="Try again.")
        return outcome[0]
