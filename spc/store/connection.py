"""One file, one process, one connection: a cursor per unit of work and one lock for writes.

Five rules stand behind this module; each was measured.  A connection object is never shared
between threads (wrong rows come back, silently), so every unit of work gets its own cursor.  Writes
go one at a time, because snapshots do not see each other's running numbers.  A write carries a
token, so that a retry cannot write twice.  After a fatal error the instance is dead and is opened
again, and the commit may already have landed.  Only one process may have the file.
"""

import contextlib
import random
import re
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final, TypeVar

import duckdb

from spc.errors import NotAStore, StoreBusy, StoreError, StoreInUse
from spc.store import opening
from spc.store.file.cursors import Cursor, records
from spc.store.record import audit, rows

__all__ = ["Connection", "Cursor", "records", "saying_what_to_do"]

Outcome = TypeVar("Outcome")

_TRIES: Final = 8


class Connection:
    """The open file; `read` and `write` are the only ways in."""

    def __init__(self, path: Path, *, read_only: bool = False) -> None:
        self.path = path
        self.read_only = read_only
        self._lock = threading.RLock()
        self._database = self._open()

    def _open(self) -> duckdb.DuckDBPyConnection:
        with saying_what_to_do(self.path):
            if not self.read_only:
                self.path.parent.mkdir(parents=True, exist_ok=True)
            return opening.opened(self.path, read_only=self.read_only)

    def _reopen(self, dead: duckdb.DuckDBPyConnection) -> None:
        """Open again after a fatal error, once, whoever met it first."""
        with self._lock:
            if self._database is dead:
                dead.close()
                self._database = self._open()

    def close(self) -> None:
        """Close the file; what was written is checkpointed."""
        with self._lock:
            self._database.close()

    def read(self) -> contextlib.AbstractContextManager[Cursor]:
        """A cursor that sees one consistent state of the store."""
        return self._state("begin transaction read only")

    def supposing(self) -> contextlib.AbstractContextManager[Cursor]:
        """A cursor that may write to its own state of the store, of which nothing is kept."""
        return self._state("begin transaction")

    @contextlib.contextmanager
    def _state(self, begin: str) -> Iterator[Cursor]:
        with saying_what_to_do(self.path):
            database = self._database
            cursor = database.cursor()
        try:
            with saying_what_to_do(self.path):
                cursor.execute(begin)
                yield cursor
        except duckdb.FatalException as problem:
            self._reopen(database)
            raise StoreBusy(
                "the store had to be opened again.",
                where=str(self.path),
                remedy="Nothing was lost; do it again.",
            ) from problem
        finally:
            with contextlib.suppress(duckdb.Error):
                cursor.execute("rollback")
            cursor.close()

    def write(self, work: Callable[[Cursor], Outcome], *, token: str) -> Outcome | None:
        """Run `work` in one transaction; None if this token was written before.

        Parameters
        ----------
        work
            Reads what it depends on inside the transaction, so that it can be run again.
        token
            Names this write; the same token is never written twice.

        Raises
        ------
        StoreBusy
            If it did not go through after several tries; nothing was written.
        StoreError
            If the store was opened to be read only.
        """
        if self.read_only:
            raise StoreError(
                "the store was opened to be read only.",
                where=str(self.path),
                remedy="Open it for writing; nothing was written.",
            )
        with self._lock, saying_what_to_do(self.path):
            for attempt in range(_TRIES):
                database = self._database
                cursor = database.cursor()
                try:
                    return _in_transaction(cursor, work, token)
                except duckdb.FatalException:
                    self._reopen(database)
                except duckdb.TransactionException:
                    # Jitter only; nothing secret depends on it.
                    time.sleep(random.uniform(0, 0.005 * 2**attempt))  # noqa: S311
                finally:
                    with contextlib.suppress(duckdb.Error):
                        cursor.close()
        raise StoreBusy(
            f"the write did not go through after {_TRIES} tries.",
            remedy="Nothing was written; try again.",
        )


def _in_transaction(
    cursor: Cursor, work: Callable[[Cursor], Outcome], token: str
) -> Outcome | None:
    cursor.execute("begin")
    try:
        if cursor.execute("select 1 from applied where token = ?", [token]).fetchone():
            cursor.execute("rollback")
            return None
        entry = audit.upcoming(cursor)
        rows.insert(cursor, "applied", [{"token": token, "applied_at": audit.moment(cursor)}])
        outcome = work(cursor)
        if audit.upcoming(cursor) == entry:
            # What left no entry wrote nothing, and may well be done again.
            cursor.execute("delete from applied where entry = ?", [entry])
        cursor.execute("commit")
    except BaseException:
        with contextlib.suppress(duckdb.Error):
            cursor.execute("rollback")
        raise
    return outcome


@contextlib.contextmanager
def saying_what_to_do(path: Path) -> Iterator[None]:
    """Turn what the engine says into what the user can do about it."""
    try:
        yield
    except duckdb.IOException as problem:
        raise _told(problem, path) from problem
    except (duckdb.FatalException, duckdb.TransactionException):
        raise
    except duckdb.Error as problem:
        raise StoreError(
            f"the store could not do this: {problem}.",
            where=str(path),
            remedy="Run `lotheat verify`; if it finds nothing, report this message.",
        ) from problem
    except OSError as problem:
        raise StoreError(
            f"{problem.strerror or problem}.",
            where=str(path),
            remedy="Name a place you may write to with --store FILE.",
        ) from problem


def _told(problem: duckdb.IOException, path: Path) -> StoreError:
    text = str(problem)
    holder = re.search(r"PID (\d+)", text)
    if "lock" in text:
        process = f" (process {holder.group(1)})" if holder else ""
        return StoreInUse(
            f"another lotheat{process} has the store open.",
            where=str(path),
            remedy="Use its dashboard, stop it first, or name another file with --store FILE.",
        )
    if "not a valid DuckDB database" in text:
        return NotAStore(
            "the file is not a lotheat store.",
            where=str(path),
            remedy="Name another file with --store FILE; this one was left untouched.",
        )
    if "No space left" in text:
        return StoreError(
            "the disk is full; nothing of this write was kept.",
            where=str(path),
            remedy="Free some space and do it again.",
        )
    return StoreError(
        f"the file cannot be opened or written: {text.splitlines()[0]}.",
        where=str(path),
        remedy="Check that it exists and that you may write to it.",
    )
