"""Opening a store's file: looked at before anything in it is asked, and brought up to date."""

from pathlib import Path
from typing import Final

import duckdb

from spc.errors import ChangedSchema, NewerSchema, NotAStore, OlderSchema
from spc.store.file import inventory, migrations
from spc.store.file.cursors import Cursor
from spc.store.file.inventory import Named
from spc.store.file.migrations import ENTRIES, steps
from spc.store.record import audit, chain, first_version, sealed_rows

# Readable by the next engine version too, in both directions.
STORAGE_VERSION: Final = "v1.4.0"

# A store asks nothing of other files, so that nothing in it can have them read.
CONFIG: Final[dict[str, str | bool | int | float | list[str]]] = {
    "storage_compatibility_version": STORAGE_VERSION,
    "enable_external_access": "false",
    "autoinstall_known_extensions": "false",
    "autoload_known_extensions": "false",
    "lock_configuration": "true",
}

_STEPS: Final = Named("table", "schema_step")


def opened(path: Path, *, read_only: bool = False) -> duckdb.DuckDBPyConnection:
    """The database of a store's file, whose schema is the newest and the package's own.

    Raises
    ------
    NewerSchema
        If the file has a step this version does not know; it is left untouched.
    OlderSchema
        If it lacks a step, and is to be read only.
    ChangedSchema
        If it holds what no lotheat made; it is left untouched, and nothing in it was run.
    NotAStore
        If it holds tables, but not ours.
    """
    database = duckdb.connect(str(path), read_only=read_only, config=CONFIG)
    try:
        _brought_up(database.cursor(), path, read_only=read_only)
    except BaseException:
        database.close()
        raise
    return database


def _brought_up(cursor: Cursor, path: Path, *, read_only: bool) -> None:
    reached = looked_at(cursor, where=str(path))
    pending = [step for step in steps() if step.number > reached]
    if not pending:
        return
    if read_only:
        raise OlderSchema(
            "the store was written by an older lotheat and needs a change of its schema first.",
            where=str(path),
            remedy="Open it once for writing, or restore it into a new file.",
        )
    cursor.execute("begin")
    # What came before rows had an entry added tables only, and changed none.
    migrations.apply(cursor, [step for step in pending if step.number < ENTRIES])
    faults = _faults_before(cursor, reached)
    migrations.apply(cursor, [step for step in pending if step.number >= ENTRIES])
    if reached:
        _seal_as_found(cursor, reached, faults)
    cursor.execute("commit")


def looked_at(cursor: Cursor, *, where: str) -> int:
    """The last step of the schema that a file has; 0 for a new file.

    Raises
    ------
    NewerSchema, ChangedSchema, NotAStore
        If the file is not one whose rows may be asked.
    """
    found = inventory.inventory(cursor)
    strange = found.keys() - inventory.packaged(0).keys()
    if _STEPS not in found:
        if not strange:
            return 0
        tables = sorted(one.name for one in strange if one.kind == "table")
        listed = ", ".join(tables[:3] or sorted(map(str, strange))[:3])
        raise NotAStore(
            f"the file holds other tables ({listed}) and no lotheat store."
            if tables
            else f"the file holds other things ({listed}) and no lotheat store.",
            where=where,
            remedy="Name another file, or none to use the usual place.",
        )
    odd = [
        f"the {name} is not the one that lotheat makes."
        for name, told in inventory.packaged(0).items()
        if found.get(name) != told
    ]
    if odd:
        raise ChangedSchema(odd, where=where)
    rows = sorted(cursor.execute("select number, name from schema_step").fetchall())
    reached = rows[-1][0] if rows else 0
    if reached > steps()[-1].number:
        raise NewerSchema(
            f"the store was written by a newer lotheat (step {reached}, this one knows"
            f" {steps()[-1].number}).",
            where=where,
            remedy="Install the newer version; nothing was changed.",
        )
    changed = inventory.step_faults(rows, steps()) or inventory.differences(found, reached)
    if changed:
        raise ChangedSchema(changed, where=where)
    return int(reached)


def _faults_before(cursor: Cursor, reached: int) -> list[str]:
    """What is wrong with a store by the seals it had before a change of its schema."""
    if reached == 0:
        return []
    if reached < ENTRIES:
        return first_version.faults(cursor)
    read = chain.read(cursor, step=reached)
    return [*read.faults, *sealed_rows.faults(cursor, read, step=reached)[1]]


def _seal_as_found(cursor: Cursor, reached: int, faults: list[str]) -> None:
    """Seal what stands in a store of an earlier schema, and say what was wrong with it."""
    if reached < ENTRIES:
        first_version.order_decisions(cursor)
    audit.record(
        cursor,
        actor="lotheat",
        action=audit.FOUND,
        subject="store",
        detail={"from": reached, "to": steps()[-1].number, "faults": faults},
        found=True,
    )
