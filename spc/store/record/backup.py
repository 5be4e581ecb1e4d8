"""A copy of one consistent state of a store, made while it is in use.

A plain copy of the file of an open store misses what stands in its log so far; the engine itself
copies all of it.
"""

import contextlib
import uuid
from collections.abc import Iterator
from pathlib import Path

from spc.errors import StoreError
from spc.store.file.connection import STORAGE_VERSION, Cursor


def copy(cursor: Cursor, path: Path) -> None:
    """Write a new file that holds what the store holds; there is all of it or none.

    Parameters
    ----------
    cursor
        Outside a transaction: the copy is one of its own.

    Raises
    ------
    StoreError
        If there is a file already.
    """
    name = f"copy_{uuid.uuid4().hex}"
    with new_file(path) as part:
        place = _quoted(str(part), by="'")
        cursor.execute(f"attach {place} as {name} (storage_version '{STORAGE_VERSION}')")
        try:
            cursor.execute(f"copy from database {_store(cursor)} to {name}")
        finally:
            cursor.execute(f"detach {name}")


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


def _store(cursor: Cursor) -> str:
    (name,) = cursor.execute("select current_database()").fetchall()[0]
    return _quoted(name, by='"')


def _quoted(text: str, *, by: str) -> str:
    return f"{by}{text.replace(by, by + by)}{by}"
