"""A copy of one consistent state of a store, made while it is in use.

A plain copy of the file of an open store misses what stands in its log so far.  So the copy is made
like a new store, and its rows are read from the old one: it holds nothing but rows.
"""

import contextlib
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

import duckdb

from spc.errors import StoreError
from spc.store import opening
from spc.store.file import inventory, migrations
from spc.store.file.cursors import Cursor
from spc.store.file.migrations import steps

# Rows in memory at one time.
_AT_ONCE: Final = 20_000
_FILES_AT_ONCE: Final = 1


def copy(cursor: Cursor, path: Path, *, anchor: str) -> None:
    """Write a new file that holds what the store holds; there is all of it or none.

    Parameters
    ----------
    cursor
        Sees one consistent state of the store.
    anchor
        The line that is written beside it.

    Raises
    ------
    StoreError
        If there is a file already.
    """
    with (
        new_file(beside(path)) as line,
        new_file(path) as part,
        duckdb.connect(str(part), config=opening.CONFIG) as fresh,
    ):
        line.write_text(f"{anchor}\n", encoding="utf-8")
        migrations.apply(fresh, steps())
        fresh.execute("begin")
        for table, columns in inventory.columns(steps()[-1].number).items():
            if table != "schema_step":
                _rows(cursor, fresh, table, columns)
        fresh.execute("commit")


def beside(path: Path) -> Path:
    """Where the anchor of a copy is kept."""
    return path.with_name(f"{path.name}.anchor.txt")


@contextlib.contextmanager
def new_file(path: Path) -> Iterator[Path]:
    """Where to write a file that will be there whole or not at all.

    Nothing is at `path` if the block fails, or if it removes what it wrote.

    Raises
    ------
    StoreError
        If there is a file at `path` already, or none can be written there.
    """
    if path.exists():
        raise StoreError(
            "there is a file already.",
            where=str(path),
            remedy="Name another, or move that one away first; nothing was overwritten.",
        )
    part = path.with_name(f"{path.name}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.unlink(missing_ok=True)
        yield part
        if part.exists():
            part.replace(path)
    except OSError as problem:
        raise StoreError(
            f"{problem.strerror or problem}.",
            where=str(path),
            remedy="Name a place that you may write to and that has room.",
        ) from problem
    finally:
        part.unlink(missing_ok=True)


def _rows(cursor: Cursor, fresh: Cursor, table: str, columns: Sequence[str]) -> None:
    """The rows of one table, some at a time; files are long, so those few together."""
    named = ", ".join(f'"{name}"' for name in columns)
    at_once = _FILES_AT_ONCE if "bytes" in columns else _AT_ONCE
    # Table and column names are the package's own; nothing of a user's enters the text.
    rows = cursor.execute(f"select {named} from {table}").to_arrow_reader(at_once)  # noqa: S608
    fresh.register("rows", rows)
    fresh.execute(f"insert into {table} ({named}) select * from rows")  # noqa: S608
    fresh.unregister("rows")
