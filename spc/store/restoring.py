"""A store made from a copy, after everything in the copy was checked."""

import shutil
from dataclasses import replace
from pathlib import Path

from spc.errors import ChangedSchema, NotAStore, StoreError
from spc.store.backup import beside, new_file
from spc.store.store import Store
from spc.store.verification import Verification


def restore(copy: Path, path: Path) -> Verification:
    """Make a store from a copy, if every value, seal and decision in it holds.

    Parameters
    ----------
    copy
        What `Store.backup` wrote; it is only read, and so is the anchor beside it.
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
                outcome = _verified(store, beside(copy))
        except ChangedSchema as problem:
            outcome = Verification(checked={}, faults=problem.faults)
        except NotAStore as problem:
            raise NotAStore(
                problem.what, where=str(copy), remedy="Name a file that `lotheat backup` wrote."
            ) from problem
        if not outcome.ok:
            part.unlink()
    return outcome


def _verified(store: Store, anchor: Path) -> Verification:
    """With what the anchor that was kept beside the copy says of it."""
    outcome = store.verify()
    if not anchor.is_file():
        return outcome
    told = store.against(anchor.read_text(encoding="utf-8"))
    return replace(
        outcome,
        faults=(*outcome.faults, *told.faults),
        notes=(*outcome.notes, *told.held),
    )


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
