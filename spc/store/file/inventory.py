"""What the engine's catalogue names in a file, held against what the packaged steps make.

A view, a macro or a default in a file is a program that runs when a query meets it; a macro named
like a function of the engine runs in its place.  So a file is looked at first, through the engine's
own functions under their full names, and nothing in it is asked before all of it is known.
"""

from collections.abc import Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from functools import lru_cache
from types import MappingProxyType
from typing import Final, NamedTuple

import duckdb

from spc.store.file.cursors import Cursor
from spc.store.file.migrations import LEDGER, Step, steps

# Kind, what lists it, and of the list what names one and what says how it is made.  Entries that
# call themselves the engine's own are looked at too: a file may say so of anything.
_LISTS: Final[tuple[tuple[str, str, tuple[str, ...], tuple[str, ...]], ...]] = (
    ("schema", "duckdb_schemas", ("schema_name",), ("sql", "comment", "internal")),
    ("table", "duckdb_tables", ("table_name",), ("schema_name", "sql", "comment", "temporary")),
    (
        "column",
        "duckdb_columns",
        ("table_name", "column_name"),
        ("schema_name", "column_index", "data_type", "is_nullable", "column_default", "comment"),
    ),
    ("view", "duckdb_views", ("view_name",), ("schema_name", "sql", "comment", "temporary")),
    (
        "macro",
        "duckdb_functions",
        ("function_name",),
        ("schema_name", "function_type", "parameters", "macro_definition", "internal"),
    ),
    ("type", "duckdb_types", ("type_name",), ("schema_name", "logical_type", "internal", "labels")),
    ("sequence", "duckdb_sequences", ("sequence_name",), ("schema_name", "sql", "temporary")),
    ("index", "duckdb_indexes", ("index_name",), ("schema_name", "table_name", "sql")),
    (
        "constraint",
        "duckdb_constraints",
        ("table_name", "constraint_name"),
        ("schema_name", "constraint_type", "constraint_text", "constraint_column_names"),
    ),
)

# What stands in a table or a view, and is named with it.
_INNER: Final = ("column", "constraint")


class Named(NamedTuple):
    """One thing that a file holds."""

    kind: str
    name: str

    def __str__(self) -> str:
        """How a fault names it."""
        return f"{self.kind} {self.name}"


Inventory = Mapping[Named, tuple[str, ...]]


def inventory(cursor: Cursor) -> Inventory:
    """Everything in the cursor's database: what it is called, and how it is made.

    Nothing in the file is run for it.  A comparison is no function, so that no file can take its
    name, as it can that of an operator.
    """
    (database,) = (
        name
        for name, internal in cursor.execute(
            "select database_name, internal from system.main.duckdb_databases()"
        ).fetchall()
        if not internal
    )
    found: dict[Named, tuple[str, ...]] = {}
    for kind, function, names, facts in _LISTS:
        # The engine lends each file its types, as they are asked for.
        own = _told(cursor, function, (*names, *facts), "system") if kind == "type" else ()
        lent = set(map(_alike, own))
        for told in _told(cursor, function, (*names, *facts), database):
            if not lent or _alike(told) not in lent:
                name = Named(kind, ".".join(map(str, told[: len(names)])))
                # Of several of one name, such as a macro in two forms, all are told.
                found[name] = (*found.get(name, ()), repr(told[len(names) :]))
    return MappingProxyType(found)


def packaged(number: int) -> Inventory:
    """What a file holds to which the packaged steps up to a number were applied."""
    return _package(number)[0]


def columns(number: int) -> Mapping[str, tuple[str, ...]]:
    """Columns of every table that the packaged steps up to a number make, in their order."""
    return _package(number)[1]


def differences(found: Inventory, number: int) -> list[str]:
    """What a file holds otherwise than the packaged steps up to a number make it; a fault each."""
    expected = packaged(number)
    strange = _outermost(found.keys() - expected.keys())
    missing = _outermost(expected.keys() - found.keys())
    inside = {one.name.split(".")[0] for one in (*strange, *missing) if one.kind in _INNER}
    changed = _innermost(
        (name for name in found.keys() & expected.keys() if found[name] != expected[name]), inside
    )
    return [
        *(f"there is a {name} that no lotheat makes." for name in strange),
        *(f"the {name} is missing." for name in missing),
        *(f"the {name} is not the one that lotheat makes." for name in changed),
    ]


def step_faults(rows: Iterable[tuple[int, str]], known: Iterable[Step]) -> list[str]:
    """What the rows of the table of steps say otherwise than the package."""
    expected = {step.number: step.name for step in known}
    told = list(rows)
    if [number for number, _ in told] == list(expected)[: len(told)] and all(
        expected[number] == name for number, name in told
    ):
        return []
    return ["the table schema_step names other steps than lotheat has."]


def _alike(told: Iterable[object]) -> str:
    return repr([one.lower() if isinstance(one, str) else one for one in told])


def _outermost(names: Iterable[Named]) -> list[Named]:
    """Without the columns and constraints of a table that is among them."""
    told = sorted(names)
    tables = {one.name for one in told if one.kind not in _INNER}
    return [one for one in told if one.kind not in _INNER or one.name.split(".")[0] not in tables]


def _innermost(names: Iterable[Named], inside: AbstractSet[str]) -> list[Named]:
    """Without a table of which a column or a constraint is told."""
    told = sorted(names)
    tables = {one.name.split(".")[0] for one in told if one.kind in _INNER} | inside
    return [one for one in told if one.kind in _INNER or one.name not in tables]


def _told(
    cursor: Cursor, function: str, listed: Sequence[str], database: str
) -> list[tuple[object, ...]]:
    # All of these names are this module's own.
    return cursor.execute(
        f"select {', '.join(listed)} from system.main.{function}()"  # noqa: S608
        " where database_name = $database",
        {"database": database},
    ).fetchall()


@lru_cache
def _package(number: int) -> tuple[Inventory, Mapping[str, tuple[str, ...]]]:
    """What the packaged steps up to a number make of an empty database in memory."""
    with duckdb.connect(":memory:") as database:
        database.execute(LEDGER)
        for step in steps():
            if step.number <= number:
                database.execute(step.sql)
        tables = database.execute("select table_name from duckdb_tables() order by all").fetchall()
        named = {
            table: tuple(column[0] for column in database.table(table).description)
            for (table,) in tables
        }
        return inventory(database), MappingProxyType(named)
