"""A query on another database, kept as the file that it gave at that moment."""

import csv
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Final

import sqlalchemy
from sqlalchemy.exc import NoSuchModuleError, SQLAlchemyError

from spc.errors import IntakeError
from spc.intake.readers.limits import LARGEST_MB
from spc.store.file import foreign

# Read only: a word in front of anything else could change the other database.
_READS: Final = re.compile(r"\s*(select|with)\b", re.IGNORECASE)
_AT_ONCE: Final = 10_000
_DUCKDB: Final = "duckdb:///"


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapshot:
    """What a query gave, as comma-separated text in UTF-8 with one header row.

    Attributes
    ----------
    name
        Under which it is received: database, and moment of asking.
    rows
        Not counting the header.
    """

    name: str
    content: bytes
    rows: int


def snapshot(address: str, query: str, *, asked_at: datetime) -> Snapshot:
    """Ask another database, and write its answer down.

    The bytes are received like any file, so that a number keeps its way back even when the other
    database forgets.  Nothing in the other database is changed: only queries that begin with
    ``select`` or ``with`` are asked, and what they did is rolled back; a DuckDB file is opened for
    reading only.

    Parameters
    ----------
    address
        As SQLAlchemy writes it, such as ``sqlite:///laboratory.db``; of a DuckDB file
        ``duckdb:///laboratory.duckdb``, or its path alone.
    query
        One statement.
    asked_at
        Goes into the name.

    Raises
    ------
    IntakeError
        If the database cannot be reached, the query fails, or its answer is too large.
    """
    if not _READS.match(query):
        raise _refused("the query does not begin with select or with.", "Ask for rows only.")
    file = _duckdb_file(address)
    if file is not None:
        with foreign.asked(file, query) as answer:
            content, rows = _written(answer.headers, answer.parts)
        where = file.name
    else:
        where, content, rows = _by_engine(address, query)
    name = f"query of {where} {asked_at:%Y-%m-%d %H%M%S}.csv"
    return Snapshot(name=name, content=content, rows=rows)


def _duckdb_file(address: str) -> Path | None:
    """The DuckDB file that an address names; None if it names another kind of database."""
    if address.startswith(_DUCKDB):
        return Path(address.removeprefix(_DUCKDB)).expanduser()
    return Path(address) if foreign.is_database(Path(address)) else None


def _by_engine(address: str, query: str) -> tuple[str, bytes, int]:
    """The database's name, and what it answered, by the driver that its address names."""
    try:
        engine = sqlalchemy.create_engine(address)
    except (SQLAlchemyError, NoSuchModuleError, ModuleNotFoundError) as problem:
        raise _refused(
            f"the database cannot be reached: {problem}.",
            "Check its address; a driver other than SQLite's is installed beside lotheat with pip.",
        ) from problem
    try:
        with engine.connect() as connection:
            answer = connection.execute(sqlalchemy.text(query))
            content, rows = _written(list(answer.keys()), answer.partitions(_AT_ONCE))
            connection.rollback()
    except SQLAlchemyError as problem:
        raise _refused(
            f"the query failed: {str(problem).splitlines()[0]}.",
            "Try it with the database's own client first.",
        ) from problem
    finally:
        engine.dispose()
    where = engine.url.database or engine.url.host or engine.url.get_backend_name()
    return str(where).rsplit("/", 1)[-1], content, rows


def _written(headers: Sequence[str], parts: Iterable[Sequence[Sequence[Any]]]) -> tuple[bytes, int]:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(headers)
    rows = 0
    for part in parts:
        writer.writerows([[_cell(value) for value in row] for row in part])
        rows += len(part)
        if text.tell() > LARGEST_MB * 1_000_000:
            raise _refused(f"the answer is larger than {LARGEST_MB} MB.", "Ask for less at a time.")
    return text.getvalue().encode(), rows


def _cell(value: Any) -> str:
    """A value as text; nothing for a null."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.isoformat(sep=" ", timespec="seconds")
    return str(value)


def _refused(what: str, remedy: str) -> IntakeError:
    return IntakeError(what, where="database query", remedy=remedy)
