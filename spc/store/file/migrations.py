"""The schema's steps, in order, as SQL files of the package."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Final

import duckdb

LEDGER: Final = (
    "create table if not exists schema_step (number integer not null, name varchar not null)"
)

# From this step on rows have an entry of the audit chain that seals them.
ENTRIES: Final = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One numbered SQL file; never edited once released."""

    number: int
    name: str
    sql: str


@lru_cache
def steps() -> Sequence[Step]:
    """Every step this version knows, in order."""
    folder = files("spc.store") / "schema"
    names = sorted(entry.name for entry in folder.iterdir() if entry.name.endswith(".sql"))
    return tuple(
        Step(number=int(name[:4]), name=name, sql=(folder / name).read_text(encoding="utf-8"))
        for name in names
    )


def apply(cursor: duckdb.DuckDBPyConnection, pending: Sequence[Step]) -> None:
    """Apply steps, each with its record, inside the caller's transaction."""
    cursor.execute(LEDGER)
    for step in pending:
        cursor.execute(step.sql)
        cursor.execute("insert into schema_step values (?, ?)", [step.number, step.name])
