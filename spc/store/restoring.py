"""A store made from a copy, after everything in the copy was checked."""

import shutil
from pathlib import Path

from spc.errors import NotAStore, StoreError
from spc.store.record.backup import new_file
from spc.store.store import Store
from spc.store.verification import Verification


def restore(copy: Path, path: Path) -> Verification:
    """Make a store from a copy, if every value, seal and decision in it holds.

    Parameters
    ----------
    copy
        What `Store.backup` wrote; it is only read.
    path
        Where the store will be.

    Returns
    -------
    Verification
        Of the copy; with faults nothing is at `path`.

    Raises
    ------
    StoreError
        If there is a file at `path`, or no copy, or it is the file of a store in use.
    NotAStore
        If the copy is no store.
    """
    _closed(copy)
    with new_file(path) as part:
        shutil.copyfile(copy, part)
        try:
            with Store.open(part) as store:
                outcome = store.verify()
        except NotAStore as problem:
            raise NotAStore(
                problem.what, where=str(copy), remedy="Name a file that `lotheat backup` wrote."
            ) from problem
        if not outcome.ok:
            part.unlink()
    return outcome


def _closed(copy: Path) -> None:
    if not copy.is_file():
        raise StoreError(
            "there is no such file.", where=str(copy), remedy="Name what `lotheat backup` wrote."
        )
    if copy.with_name(f"{copy.name}.wal").exists():
        raise StoreError(
            "the file is a store in use, or one that was not closed.",
            where=str(copy),
            remedy="Make a backup of it with `lotheat backup`, and restore that.",
        )
