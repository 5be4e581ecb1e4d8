"""A DuckDB file of another program: asked, never written to."""

import contextlib
import threading
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import duckdb

from spc.errors import IntakeError

# The other file alone: no other file, nothing from the network, and nothing beside it, where the
# engine would otherwise put what a large query does not hold in memory.
_CONFIG: Final[dict[str, str | bool | int | float | list[str]]] = {
    "enable_external_access": "false",
    "autoinstall_known_extensions": "false",
    "autoload_known_extensions": "false",
    "python_enable_replacements": "false",
    "temp_directory": "",
}
_SIGNATURE: Final = b"DUCK"
_SIGNED_AT: Final = 8
_AT_ONCE: Final = 10_000

Row = tuple[str | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a query gives.

    Attributes
    ----------
    headers
        Names of its columns.
    parts
        Its rows, some at a time, as the engine writes their values: moments in UTC to the second,
        nothing for a null.
    """

    headers: Sequence[str]
    parts: Iterator[list[Row]]


def is_database(file: Path) -> bool:
    """Whether there is a DuckDB file that can be read."""
    # An address may be longer than a path can be; it is then none.
    with contextlib.suppress(OSError), file.open("rb") as opened:
        return opened.read(_SIGNED_AT + len(_SIGNATURE))[_SIGNED_AT:] == _SIGNATURE
    return False


@contextlib.contextmanager
def asked(file: Path, query: str, *, seconds: float) -> Iterator[Answer]:
    """Ask a DuckDB file, opened for reading only; it is closed when the block ends.

    Parameters
    ----------
    query
        One statement that selects.
    seconds
        After which it is broken off.

    Raises
    ------
    IntakeError
        If the file is not there, is no database, is held by another program or cannot be read, or
        if the query is not one that selects, or fails.
    """
    with _opened(file) as database, _ended(database, seconds):
        try:
            relation = _selected(database, query)
            written = ", ".join(
                _written(place, str(kind)) for place, kind in enumerate(relation.types, start=1)
            )
            told = relation.project(written)
            yield Answer(headers=relation.columns, parts=iter(lambda: told.fetchmany(_AT_ONCE), []))
        except duckdb.InterruptException as problem:
            raise _refused(
                f"the query takes longer than {seconds:g} seconds.",
                "Ask for less at a time, or allow more with --seconds.",
            ) from problem
        except duckdb.Error as problem:
            raise _refused(
                f"the query failed: {str(problem).splitlines()[0]}.",
                "Try it with the database's own client first.",
            ) from problem


@contextlib.contextmanager
def _opened(file: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    if not file.is_file():
        raise _refused(f"there is no file {file}.", "Check the path after duckdb:///.")
    try:
        database = duckdb.connect(file, read_only=True, config=_CONFIG)
    except duckdb.Error as problem:
        raise _not_opened(file, str(problem)) from problem
    with database:
        database.execute("set TimeZone = 'UTC'")
        database.execute("set lock_configuration = true")
        yield database


@contextlib.contextmanager
def _ended(database: duckdb.DuckDBPyConnection, seconds: float) -> Iterator[None]:
    """Break off what still runs after so many seconds."""
    timer = threading.Timer(seconds, database.interrupt)
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()


def _selected(database: duckdb.DuckDBPyConnection, query: str) -> duckdb.DuckDBPyRelation:
    kinds = [statement.type for statement in database.extract_statements(query)]
    if kinds != [duckdb.StatementType.SELECT]:
        raise _refused("the query is not one statement that selects.", "Ask for rows only.")
    return database.sql(query)


def _written(place: int, kind: str) -> str:
    """The column of a place as text; a moment to the second, as it is from any other database."""
    if kind.startswith("TIMESTAMP"):
        return f"strftime(#{place}::timestamp, '%Y-%m-%d %H:%M:%S')"
    return f"#{place}::varchar"


def _not_opened(file: Path, said: str) -> IntakeError:
    if "lock" in said:
        return _refused(
            f"another program has {file} open for writing.",
            "Close it there, or ask a copy of the file.",
        )
    if "different configuration" in said:
        return _refused(
            f"{file} is open in this program already.", "Name another file than the store's own."
        )
    if "not a valid DuckDB database" in said:
        return _refused(
            f"{file} is not a DuckDB file.", "Check the path; an SQLite file is sqlite:///FILE."
        )
    return _refused(
        f"{file} cannot be read: {said.splitlines()[0]}.",
        "Check that you may read it, and that its program is not newer than this one.",
    )


def _refused(what: str, remedy: str) -> IntakeError:
    return IntakeError(what, where="database query", remedy=remedy)
