"""Files from the command line into the store, or into the server that has it open."""

from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pandas as pd

from dashboard.server import handover
from dashboard.server.reaching import Running, Sender
from dashboard.server.replies import HELD_TOLD
from spc.errors import IntakeError
from spc.store import Receipt, Store
from spc.store.people import Proof


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
    acting: Callable[[Store], AbstractContextManager[Proof]],
    acting_there: Callable[[Running], AbstractContextManager[Sender]],
    tick: Callable[[str], None] = lambda _name: None,
) -> Delivered:
    """Take in files: through the running server if there is one, else by opening the store.

    Parameters
    ----------
    acting
        Who brings them into a store that is opened here.
    acting_there
        Who hands them to the server.
    """
    server = handover.running(store)
    if server is not None:
        with acting_there(server) as sender:
            return _through(server, paths, profile=profile, sender=sender, tick=tick)
    with Store.open(store) as opened, acting(opened) as by:
        return into(opened, paths, profile=profile, by=by, tick=tick)


def into(
    store: Store,
    paths: Sequence[Path],
    *,
    profile: str | None,
    by: Proof,
    tick: Callable[[str], None] = lambda _name: None,
) -> Delivered:
    """Take in files into a store that this process has open."""

    def take(path: Path) -> tuple[Receipt, pd.DataFrame]:
        receipt = store.receive(path, profile, by=by)
        return receipt, store.held(receipt.receipt)

    return _each(paths, take, tick)


def _through(
    server: Running,
    paths: Sequence[Path],
    *,
    profile: str | None,
    sender: Sender,
    tick: Callable[[str], None],
) -> Delivered:
    def take(path: Path) -> tuple[Receipt, pd.DataFrame]:
        receipt, held = handover.hand_over(
            server, path.name, content(path), profile=profile, sender=sender
        )
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
