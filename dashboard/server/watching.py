"""A folder is watched in the background for as long as a server runs."""

import logging
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from dashboard.frame.folder_board import BOARD, Notice
from dashboard.server.folder.watched_folder import QUIET_S, Folder
from spc.errors import IntakeError
from spc.store import Store

_EVERY_S: Final = 2.0
_LOG: Final = logging.getLogger(__name__)


@contextmanager
def watched(folder: Path, store: Store, *, quiet_s: float = QUIET_S) -> Iterator[None]:
    """Watch a folder for as long as the block lasts.

    Parameters
    ----------
    quiet_s
        Seconds for which a file must not have changed before it is read.

    Raises
    ------
    IntakeError
        If the folder cannot be used.
    """
    try:
        place = Folder(folder, store, quiet_s=quiet_s)
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


def _watch(place: Folder, stop: threading.Event, every_s: float) -> None:
    with ThreadPoolExecutor(max_workers=1) as hand:
        while not stop.wait(every_s):
            # A folder that is away for a while, or anything else: the next look is taken.
            problem = hand.submit(place.look).exception()
            if problem is not None:
                _LOG.warning("watched folder: %s", problem)
                what = f"The folder cannot be read: {problem}. It is tried again."
                BOARD.say([Notice(name="", what=what)])
