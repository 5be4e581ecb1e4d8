"""A query on another database, kept as the file that it gave at that moment."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from dashboard.server.databases import by_driver, sqlite_file
from dashboard.server.databases.answer import Deadline, Limits, deadline, written
from dashboard.server.databases.passwords import address_of
from dashboard.server.databases.refusals import refused
from dashboard.server.databases.statement import refuse_other
from spc.store.file import foreign

_DUCKDB: Final = "duckdb:///"
_WITHIN: Final = Limits()


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


def snapshot(
    address: str,
    query: str,
    *,
    asked_at: datetime,
    within: Limits = _WITHIN,
    password: str = "",
) -> Snapshot:
    """Ask another database, and write its answer down.

    The bytes are received like any file, so that a number keeps its way back even when the other
    database forgets.  Nothing in the other database is changed, and nothing is made by asking: a
    file is opened for reading only, any other database is asked in a transaction that may only
    read and is rolled back.

    Parameters
    ----------
    address
        As SQLAlchemy writes it, such as ``postgresql://mara@host/laboratory``, without a password;
        of a file ``sqlite:///laboratory.db`` or ``duckdb:///laboratory.duckdb``, or its path alone.
    query
        One statement that selects.
    asked_at
        Goes into the name.
    within
        How long it may take, and how many rows it may give.
    password
        Of the account that the address names; empty where none is asked, or its driver finds it.

    Raises
    ------
    IntakeError
        If the database cannot be reached, the query fails or would do more than select, or its
        answer is beyond the limits.
    """
    refuse_other(query)
    where, content, rows = _answered(address, query, deadline(within), password)
    name = f"query of {where} {asked_at:%Y-%m-%d %H%M%S}.csv"
    return Snapshot(name=name, content=content, rows=rows)


def _answered(address: str, query: str, until: Deadline, password: str) -> tuple[str, bytes, int]:
    """The database's name, what it answered, and how many rows that are."""
    if (file := _duckdb_file(address)) is not None:
        with foreign.asked(file, query, seconds=until.limits.seconds) as answer:
            return file.name, *written(answer.headers, answer.parts, until)
    if (file := _sqlite_file(address)) is not None:
        with sqlite_file.asked(file, query, until) as (headers, parts):
            return file.name, *written(headers, parts, until)
    url = address_of(address)
    with by_driver.asked(url, query, until, password=password) as (headers, parts):
        where = url.database or url.host or url.get_backend_name()
        return where.rsplit("/", 1)[-1], *written(headers, parts, until)


def _duckdb_file(address: str) -> Path | None:
    """The DuckDB file that an address names; None if it names another kind of database."""
    if address.startswith(_DUCKDB):
        return Path(address.removeprefix(_DUCKDB)).expanduser()
    return Path(address) if foreign.is_database(Path(address)) else None


def _sqlite_file(address: str) -> Path | None:
    """The SQLite file that an address names; None if it names another kind of database."""
    if "://" not in address:
        if sqlite_file.is_database(Path(address)):
            return Path(address)
        raise refused(
            "the database cannot be reached: it is no address, and no SQLite or DuckDB file"
            " has that path.",
            "Check the path, or write an address as postgresql://NAME@HOST/DATABASE.",
        )
    url = address_of(address)
    if url.drivername not in ("sqlite", "sqlite+pysqlite"):
        return None
    if not url.database or url.database == ":memory:" or url.query:
        raise refused(
            "the address names no SQLite file.", "Write sqlite:/// and the file's path alone."
        )
    return Path(url.database).expanduser()
