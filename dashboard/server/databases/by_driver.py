"""Databases that are asked through a driver: in a read-only transaction that is rolled back."""

import contextlib
from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any, Final

import sqlalchemy
from sqlalchemy.engine import URL, Connection, Engine
from sqlalchemy.exc import DBAPIError, NoSuchModuleError, SQLAlchemyError

from dashboard.server.databases.answer import AT_ONCE, Deadline, too_long
from dashboard.server.databases.refusals import ASK_FIRST, failed, first_line, only_reads, refused

_PATIENCE_S: Final = 10
# What makes a transaction read only and ends what takes too long, by the kind of database.  One
# stands here once tests ask a real one.
_BEGIN: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "postgresql": (
            "set transaction read only",
            "set local statement_timeout = {milliseconds}",
            "set local lock_timeout = {milliseconds}",
            "set local time zone 'UTC'",
        ),
    }
)
# Words in which databases say that the transaction may not write, or that the time is over.
_WRITES: Final = ("read-only transaction", "read only", "data-modifying")
_OVER: Final = ("timeout",)


@contextlib.contextmanager
def asked(
    address: URL, query: str, until: Deadline, *, password: str
) -> Iterator[tuple[Sequence[str], Iterator[Sequence[Sequence[Any]]]]]:
    """The header of what a database answers, and its rows, some at a time.

    Parameters
    ----------
    address
        Without a password.
    query
        One statement.
    until
        When the query is broken off.
    password
        Empty where the driver finds it by itself, or none is asked.

    Raises
    ------
    IntakeError
        If the database is of a kind that cannot be kept from writing, cannot be reached, or would
        write, fails or takes too long.
    """
    engine = _engine(address, password)
    try:
        with _connected(engine, password) as connection:
            _begin(connection, until)
            # The rows stay with the database until they are fetched, and one statement is all that
            # it accepts for a cursor; nothing in the text stands for a parameter.
            answer = connection.execution_options(
                stream_results=True, no_parameters=True
            ).exec_driver_sql(query)
            with contextlib.closing(answer):
                yield list(answer.keys()), answer.partitions(AT_ONCE)
            connection.rollback()
    except SQLAlchemyError as problem:
        said = first_line(_own(problem), secret=password)
        if any(word in said for word in _WRITES):
            raise only_reads(said) from None
        if until.is_over or any(word in said for word in _OVER):
            raise too_long(until.limits) from None
        raise failed(said) from None
    finally:
        engine.dispose()


def _engine(address: URL, password: str) -> Engine:
    kind = address.get_backend_name()
    if kind not in _BEGIN:
        raise refused(
            f"the database cannot be reached: nothing keeps a query from changing one of the kind"
            f" {kind!r}.",
            f"Ask {', '.join(_BEGIN)}, sqlite or duckdb; of others, receive what they export.",
        )
    with_password = address.set(password=password) if password else address
    try:
        return sqlalchemy.create_engine(
            with_password, connect_args={"connect_timeout": _PATIENCE_S}
        )
    except (SQLAlchemyError, NoSuchModuleError, ModuleNotFoundError) as problem:
        raise refused(
            f"the database cannot be reached: {first_line(problem, secret=password)}.",
            "Install its driver beside lotheat; that of PostgreSQL: pip install"
            " 'lotheat[postgresql]'.",
        ) from None


@contextlib.contextmanager
def _connected(engine: Engine, password: str) -> Iterator[Connection]:
    try:
        connection = engine.connect()
    except SQLAlchemyError as problem:
        raise refused(
            f"the database cannot be reached: {first_line(_own(problem), secret=password)}.",
            f"Check its address, and whether it runs. {ASK_FIRST}",
        ) from None
    with connection:
        yield connection


def _begin(connection: Connection, until: Deadline) -> None:
    milliseconds = round(until.limits.seconds * 1000)
    for statement in _BEGIN[connection.dialect.name]:
        connection.exec_driver_sql(statement.format(milliseconds=milliseconds))


def _own(problem: SQLAlchemyError) -> BaseException:
    """What the driver itself said, without the query and the library's own address."""
    return problem.orig if isinstance(problem, DBAPIError) and problem.orig else problem
