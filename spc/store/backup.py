"""A copy of one consistent state of a store, made while it is in use.

A plain copy of the file of an open store misses what stands in its log so far; the engine itself
copies all of it.
"""

import uuid
from pathlib import Path

from spc.errors import StoreError
from spc.store.connection import STORAGE_VERSION, Cursor


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
    vacant(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    part = unfinished(path)
    name = f"copy_{uuid.uuid4().hex}"
    try:
        place = _quoted(str(part), by="'")
        cursor.execute(f"attach {place} as {name} (storage_version '{STORAGE_VERSION}')")
        try:
            cursor.execute(f"copy from database {_store(cursor)} to {name}")
        finally:
            cursor.execute(f"detach {name}")
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def vacant(path: Path) -> None:
    """Refuse to write over a file.

    Raises
    ------
    StoreError
        If there is one.
    """
    if path.exists():
        raise StoreError(
            "there is a file already.",
            where=str(path),
            remedy="Name another, or move that one away first; nothing was overwritten.",
        )


def unfinished(path: Path) -> Path:
    """Where a file is written before it is whole; what a broken attempt left there is gone."""
    part = path.with_name(f"{path.name}.part")
    part.unlink(missing_ok=True)
    return part


def _store(cursor: Cursor) -> str:
    (name,) = cursor.execute("select current_database()").fetchall()[0]
    return _quoted(name, by='"')


def _quoted(text: str, *, by: str) -> str:
    return f"{by}{text.replace(by, by + by)}{by}"
