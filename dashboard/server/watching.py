"""A folder is watched in the background for as long as a server runs."""

import logging
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from dashboard.frame.folder_board import BOARD, Notice
from dashboard.server.folder.watched_folder import QUIET_S, Folder
from spc.errors import IntakeError, ServerRefused
from spc.store import Store
from spc.store.people import Proof

_EVERY_S: Final = 2.0
_LOG: Final = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Watching:
    """A folder that a server is to watch.

    Attributes
    ----------
    quiet_s
        Seconds for which a file in it must not have changed.
    token
        Of the sender in whose name the files are; the computer's user if it is empty.
    """

    folder: Path
    quiet_s: float = QUIET_S
    token: str = field(default="", repr=False)


@contextmanager
def watched(folder: Path, store: Store, *, by: Proof, quiet_s: float = QUIET_S) -> Iterator[None]:
    """Watch a folder for as long as the block lasts.

    Parameters
    ----------
    by
        Who brings what is put there: a sender by a token, or the computer's user.
    quiet_s
        Seconds for which a file must not have changed before it is read.

    Raises
    ------
    NotKnown, NotAllowed
        If nobody can bring what is put there.
    IntakeError
        If the folder cannot be used.
    """
    store.people.may("receive files", by=by)
    try:
        place = Folder(folder, store, by=by, quiet_s=quiet_s)
    except OSError as problem:
        raise IntakeError(
            f"{problem.strerror}.", where=str(folder), remedy="Name a folder you may write to."
        ) from problem
    stop = threading.Event()
    every_s = min(_EVERY_S, max(quiet_s / 4, 0.1))
    watcher = threading.Thread(target=_watch, args=(place, stop, every_s), name="watched folder")
    BOARD.begin(folder)
    watcher.start()
    try:
        yield
    finally:
        stop.set()
        watcher.join()
        BOARD.end()


def bringing(store: Store, token: str) -> Proof:
    """Who brings what is put into a watched folder.

    Raises
    ------
    ServerRefused
        If people sign in to the store, and no token says who sends.
    """
    if token:
        return store.people.token(token)
    if store.people.alone:
        return store.people.system_user()
    raise ServerRefused(
        "people sign in to this store, so a watched folder needs a sender.",
        where="--watch",
        remedy="Issue one a token with `lotheat people token 'watched folder'`, and start with it"
        " in LOTHEAT_TOKEN.",
    )


def _watch(place: Folder, stop: threading.Event, every_s: float) -> None:
    with ThreadPoolExecutor(max_workers=1) as hand:
        while not stop.wait(every_s):
            # A folder that is away for a while, or anything else: the next look is taken.
            problem = hand.submit(place.look).exception()
            if problem is not None:
                _LOG.warning("watched folder: %s", problem)
                what = f"The folder cannot be read: {problem}. It is tried again."
                BOARD.say([Notice(name="", what=what)])
