"""A folder that is watched: what is put there is taken in, whole, once, and moved aside."""

import logging
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from spc.errors import IntakeError, LotHeatError, ServerRefused
from spc.store import Store
from spc.store.people import Proof

TAKEN: Final = "taken"
REFUSED: Final = "refused"
# Files being taken in; what a stopped server left there is taken in at the next start.
BEFORE: Final = ".being-taken"

EVERY_S: Final = 2.0
_LOG: Final = logging.getLogger(__name__)
# Names under which copying programs build a file up before they rename it.
_UNFINISHED: Final = (".part", ".partial", ".tmp", ".crdownload", ".filepart", "~")

Seen = tuple[int, int]


class Folder:
    """One watched folder.

    Parameters
    ----------
    by
        Who brings what is put there: a sender by a token, or the computer's user.

    Notes
    -----
    A file is taken once two looks in a row found the same size and time of change, and is moved
    out of its sender's reach before it is read.  The same bytes can be taken in twice without
    harm: every row is known then.
    """

    def __init__(self, folder: Path, store: Store, *, by: Proof) -> None:
        self._folder, self._store, self._by = folder, store, by
        self._before: dict[Path, Seen] = {}
        for name in (TAKEN, REFUSED, BEFORE):
            (folder / name).mkdir(parents=True, exist_ok=True)

    def look(self) -> int:
        """Take in what is whole; returns how many files were dealt with."""
        left_behind = sorted(one for one in (self._folder / BEFORE).iterdir() if one.is_file())
        now = {path: _seen(path) for path in self._waiting()}
        settled = [path for path, seen in now.items() if self._before.get(path) == seen]
        self._before = {path: seen for path, seen in now.items() if path not in settled}
        for path in left_behind:
            self._take(path)
        for path in settled:
            moved = _free(self._folder / BEFORE, path.name)
            path.replace(moved)
            self._take(moved)
        return len(left_behind) + len(settled)

    def _waiting(self) -> Iterator[Path]:
        for path in sorted(self._folder.iterdir()):
            hidden = path.name.startswith(".") or path.name.lower().endswith(_UNFINISHED)
            # The store itself may lie there, with its log and the note of its server.
            own = path.name.startswith(self._store.path.name)
            if path.is_file() and not (path.is_symlink() or hidden or own):
                yield path

    def _take(self, path: Path) -> None:
        try:
            receipt = self._store.receive(path, by=self._by)
        except IntakeError as problem:
            moved = _free(self._folder / REFUSED, path.name)
            path.replace(moved)
            moved.with_name(f"{moved.name}.why.txt").write_text(f"{problem}\n", encoding="utf-8")
        else:
            place = self._folder / TAKEN
            path.replace(_free(place, f"{receipt.receipt}_{path.name}"))


@contextmanager
def watched(folder: Path, store: Store, *, by: Proof, every_s: float = EVERY_S) -> Iterator[None]:
    """Watch a folder in the background for as long as the block lasts.

    Raises
    ------
    NotKnown, NotAllowed
        If nobody can bring what is put there.
    IntakeError
        If the folder cannot be used.
    """
    store.people.may("receive files", by=by)
    try:
        place = Folder(folder, store, by=by)
    except OSError as problem:
        raise IntakeError(
            f"{problem.strerror}.", where=str(folder), remedy="Name a folder you may write to."
        ) from problem
    stop = threading.Event()
    watcher = threading.Thread(target=_watch, args=(place, stop, every_s), name="watched folder")
    watcher.start()
    try:
        yield
    finally:
        stop.set()
        watcher.join()


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
    while not stop.wait(every_s):
        try:
            place.look()
        except (LotHeatError, OSError) as problem:
            # A full disk or a busy store passes; the file is still there at the next look.
            _LOG.warning("watched folder: %s", problem)


def _seen(path: Path) -> Seen:
    about = path.stat()
    return about.st_size, about.st_mtime_ns


def _free(folder: Path, name: str) -> Path:
    """A name in a folder that no file has yet."""
    place, number = folder / name, 1
    while place.exists():
        number += 1
        place = folder / f"{Path(name).stem}-{number}{Path(name).suffix}"
    return place
