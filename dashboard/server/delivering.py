"""Files from the command line into the store, or into the server that has it open."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pandas as pd

from dashboard.server import handover
from dashboard.server.replies import HELD_TOLD
from spc.errors import IntakeError
from spc.store import Receipt, Store


@dataclass(slots=True, kw_only=True)
class Delivered:
    """What became of several files.

    Attributes
    ----------
    held
        By receipt, the rows that wait.
    refused
        Of each refused file, its name and the reason.
    """

    receipts: list[Receipt] = field(default_factory=list)
    held: dict[str, pd.DataFrame] = field(default_factory=dict)
    refused: list[dict[str, str]] = field(default_factory=list)


def deliver(
    paths: Sequence[Path],
    store: Path,
    *,
    profile: str | None,
    by: str,
    tick: Callable[[str], None] = lambda _name: None,
) -> Delivered:
    """Take in files: through the running server if there is one, else by opening the store."""
    server = handover.running(store)
    if server is not None:
        return _through(server, paths, profile=profile, by=by, tick=tick)
    with Store.open(store) as opened:
        return into(opened, paths, profile=profile, by=by, tick=tick)


def into(
    store: Store,
    paths: Sequence[Path],
    *,
    profile: str | None,
    by: str,
    tick: Callable[[str], None] = lambda _name: None,
) -> Delivered:
    """Take in files into a store that this process has open."""

    def take(path: Path) -> tuple[Receipt, pd.DataFrame]:
        receipt = store.receive(path, profile, by=by)
        return receipt, store.held(receipt.receipt)

    return _each(paths, take, tick)


def _through(
    server: handover.Running,
    paths: Sequence[Path],
    *,
    profile: str | None,
    by: str,
    tick: Callable[[str], None],
) -> Delivered:
    def take(path: Path) -> tuple[Receipt, pd.DataFrame]:
        receipt, held = handover.hand_over(server, path.name, content(path), profile=profile, by=by)
        return receipt, pd.DataFrame(held, columns=list(HELD_TOLD))

    return _each(paths, take, tick)


def _each(
    paths: Sequence[Path],
    take: Callable[[Path], tuple[Any, pd.DataFrame]],
    tick: Callable[[str], None],
) -> Delivered:
    done = Delivered()
    for path in paths:
        tick(path.name)
        try:
            receipt, held = take(path)
        except IntakeError as problem:
            done.refused.append({"file": str(path), "reason": str(problem)})
        else:
            done.receipts.append(receipt)
            done.held[receipt.receipt] = held
    return done


def content(path: Path) -> bytes:
    """The bytes of a file.

    Raises
    ------
    IntakeError
        If it cannot be read.
    """
    try:
        return path.read_bytes()
    except OSError as problem:
        raise IntakeError(
            f"{problem.strerror}.", where=str(path), remedy="Check the path and its rights."
        ) from problem
