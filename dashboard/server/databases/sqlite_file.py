"""An SQLite file of another program: asked for its rows only, and nothing made beside it."""

import contextlib
import sqlite3
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote

from dashboard.server.databases.answer import AT_ONCE, Deadline, too_long
from dashboard.server.databases.refusals import failed, only_reads, refused

_SIGNATURE: Final = b"SQLite format 3\0"
# In the file's header: whether changes are kept in a log beside it until they are copied in.
_LOGGED_AT, _LOGGED = 18, b"\2\2"
_PATIENCE_S: Final = 5.0
_STEPS: Final = 10_000
_READS: Final = frozenset(
    (sqlite3.SQLITE_SELECT, sqlite3.SQLITE_READ, sqlite3.SQLITE_FUNCTION, sqlite3.SQLITE_RECURSIVE)
)


def is_database(file: Path) -> bool:
    """Whether there is an SQLite file."""
    # An address may be longer than a path can be; it is then none.
    with contextlib.suppress(OSError), file.open("rb") as opened:
        return opened.read(len(_SIGNATURE)) == _SIGNATURE
    return False


@contextlib.contextmanager
def asked(
    file: Path, query: str, until: Deadline
) -> Iterator[tuple[Sequence[str], Iterator[list[Any]]]]:
    """The header of what an SQLite file answers, and its rows, some at a time.

    Parameters
    ----------
    query
        One statement.
    until
        When the query is broken off.

    Raises
    ------
    IntakeError
        If the file is not there, is no database or cannot be read, or if the query would do more
        than select, fails or takes too long.
    """
    denied: list[str] = []

    def permitted(action: int, name: str | None, *_where: str | None) -> int:
        if action in _READS and not (
            action == sqlite3.SQLITE_FUNCTION and name == "load_extension"
        ):
            return sqlite3.SQLITE_OK
        denied.append(str(name))
        return sqlite3.SQLITE_DENY

    _refuse_missing(file)
    with contextlib.closing(_opened(file)) as database:
        try:
            database.execute("pragma query_only = on")
            database.execute("pragma temp_store = memory")
            database.set_authorizer(permitted)
            database.set_progress_handler(lambda: until.is_over, _STEPS)
            cursor = database.execute(query)
            headers = [column[0] for column in cursor.description]
            yield headers, iter(lambda: cursor.fetchmany(AT_ONCE), [])
        except (sqlite3.Error, sqlite3.Warning) as problem:
            if denied:
                raise only_reads(f"it reaches for {denied[0]}") from problem
            if until.is_over:
                raise too_long(until.limits) from problem
            raise failed(str(problem)) from problem


def _refuse_missing(file: Path) -> None:
    if not file.is_file():
        raise refused(
            f"there is no file {file}, and none is made by asking.",
            "Check the path after sqlite:///.",
        )
    if not is_database(file):
        raise refused(
            f"{file} is not an SQLite file.", "Check the path; a DuckDB file is duckdb:///FILE."
        )


def _opened(file: Path) -> sqlite3.Connection:
    address = f"file:{quote(str(file.resolve()))}?mode=ro"
    if _is_at_rest(file):
        # Else the engine would make the log and its index to look into them.
        address += "&immutable=1"
    return sqlite3.connect(address, uri=True, timeout=_PATIENCE_S)


def _is_at_rest(file: Path) -> bool:
    """Whether a file that keeps a log has none now, as its last program closed it."""
    with file.open("rb") as opened:
        opened.seek(_LOGGED_AT)
        if opened.read(len(_LOGGED)) != _LOGGED:
            return False
    log, index = (file.with_name(f"{file.name}{end}") for end in ("-wal", "-shm"))
    if log.exists() and not index.exists():
        raise refused(
            f"{file} was not closed by its program: {log.name} holds changes that are not in it.",
            "Open it with its own program once, and ask again.",
        )
    return not log.exists()
