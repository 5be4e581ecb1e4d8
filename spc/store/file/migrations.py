"""The schema's steps, in order: what was applied, what is pending, and a refusal of newer files."""

from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import files

import duckdb

from spc.errors import NewerSchema, NotAStore

_LEDGER = "create table if not exists schema_step (number integer not null, name varchar not null)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One numbered SQL file; never edited once released."""

    number: int
    name: str
    sql: str


def steps() -> list[Step]:
    """Every step this version knows, in order."""
    folder = files("spc.store") / "schema"
    names = sorted(entry.name for entry in folder.iterdir() if entry.name.endswith(".sql"))
    return [
        Step(number=int(name[:4]), name=name, sql=(folder / name).read_text(encoding="utf-8"))
        for name in names
    ]


def applied(cursor: duckdb.DuckDBPyConnection) -> list[int]:
    """Numbers of the steps a file has; read-only; empty for an empty file.

    Raises
    ------
    NotAStore
        If the file holds tables, but not ours.
    """
    tables = {
        name for (name,) in cursor.execute("select table_name from duckdb_tables()").fetchall()
    }
    if "schema_step" in tables:
        rows = cursor.execute("select number from schema_step order by number").fetchall()
        return [number for (number,) in rows]
    if tables:
        raise NotAStore(
            f"the file holds other tables ({', '.join(sorted(tables)[:3])}) and no lotheat store.",
            remedy="Name another file, or none to use the usual place.",
        )
    return []


def migrate(cursor: duckdb.DuckDBPyConnection) -> Sequence[Step]:
    """Apply the pending steps in one transaction, each with its record.

    Returns
    -------
    sequence of Step
        What was applied now.

    Raises
    ------
    NewerSchema
        If the file has a step this version does not know; it is left untouched.
    NotAStore
        If the file holds tables, but not ours.
    """
    known = steps()
    done = applied(cursor)
    if done and done[-1] > known[-1].number:
        raise NewerSchema(
            f"the store was written by a newer lotheat (step {done[-1]}, this one knows"
            f" {known[-1].number}).",
            remedy="Install the newer version; nothing was changed.",
        )
    pending = [step for step in known if step.number not in done]
    if not pending:
        return []
    cursor.execute("begin")
    cursor.execute(_LEDGER)
    for step in pending:
        cursor.execute(step.sql)
        cursor.execute("insert into schema_step values (?, ?)", [step.number, step.name])
    cursor.execute("commit")
    return pending
