"""A watched folder: what is put there is received whole, and what comes after it as well."""

import logging
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from dashboard.frame.folder_board import BOARD, Board, Notice
from dashboard.server.folder import aside
from dashboard.server.folder.contents import BEFORE, OWN, Contents, Seen, contents, seen, shown
from dashboard.server.folder.wholeness import Doubt, doubt
from spc.errors import IntakeError, LotHeatError
from spc.intake.readers.limits import LARGEST_MB
from spc.store import Store
from spc.store.people import Proof

QUIET_S: Final = 10.0

# What may be half a file waits so many times as long.
_LONGER: Final = 10.0
# And so many times as long a file that was received stays where its program may write on.
_STAYS: Final = 60.0
# A program that holds a file open goes on writing to it wherever it was moved.
_KEPT_S: Final = 86_400.0
_ASK: Final = "If it is whole, say so on Intake; if not, it is taken in once it goes on."
_LOG: Final = logging.getLogger(__name__)


@dataclass(slots=True, kw_only=True)
class _Known:
    """What is known of one state of a file.

    Attributes
    ----------
    since
        When it was seen first, by a clock that nobody sets.
    digest
        Of the bytes that were dealt with; empty while they wait.
    looked
        Whether its bytes were looked at for what says that they are half a file.
    failed
        Why these bytes are not tried again.
    """

    seen: Seen
    since: float
    digest: str = ""
    looked: bool = False
    doubt: Doubt | None = None
    failed: str = ""


class Folder:
    """One watched folder.

    A file is whole when size and times have not changed for the quiet time. Its bytes are then
    read once, received, and a copy of the very bytes is put aside. The file itself stays for a
    while where its program expects it, and is looked at for a day after that: what grew is
    received again, and its first rows are known.

    Parameters
    ----------
    by
        Who brings what is put there; a file that a person called whole is brought by them.
    quiet_s
        Seconds for which nothing may have changed.
    clock
        Seconds from any start, that never go back.
    board
        Where people read what is said of the files.
    """

    def __init__(
        self,
        folder: Path,
        store: Store,
        *,
        by: Proof,
        quiet_s: float = QUIET_S,
        clock: Callable[[], float] = time.monotonic,
        board: Board = BOARD,
    ) -> None:
        self._folder, self._store, self._by = folder, store, by
        self._quiet_s, self._clock, self._board = quiet_s, clock, board
        self._known: dict[Path, _Known] = {}
        self._called_whole: dict[str, Proof] = {}
        self._count = 0
        self._said: tuple[Notice, ...] = ()
        folder.mkdir(parents=True, exist_ok=True)
        self._make_own()

    def _make_own(self) -> None:
        for name in OWN:
            # Never the folder itself: where a disk is away, another would be watched in its place.
            (self._folder / name).mkdir(exist_ok=True)

    def look(self) -> int:
        """Deal with what is whole; returns how many files were received or refused.

        Raises
        ------
        OSError
            If the folder cannot be read.
        """
        self._make_own()
        found = contents(self._folder, store=self._store.path)
        now = self._clock()
        self._called_whole = self._board.answers()
        self._known = {path: self._remembered(path, one, now) for path, one in found.files.items()}
        self._count = 0
        notices = [*found.notices]
        for path in found.files:
            what = self._attempted(path, found, now)
            notices += [what] if what is not None else []
        self._say(notices)
        return self._count

    def _remembered(self, path: Path, state: Seen, now: float) -> _Known:
        known = self._known.get(path)
        return known if known and known.seen == state else _Known(seen=state, since=now)

    def _attempted(self, path: Path, found: Contents, now: float) -> Notice | None:
        """Deal with one file as far as it is time; whatever goes wrong with it is told of it."""
        known = self._known[path]
        with ThreadPoolExecutor(max_workers=1) as hand:
            # A thread ends with whatever a file brings about, and the watching goes on.
            work = hand.submit(self._dealt, path, known, now, locked=path in found.locked)
            problem = work.exception()
        if problem is None:
            return work.result()
        if isinstance(problem, FileNotFoundError):
            return None
        if isinstance(problem, OSError):
            return _notice(path, f"It cannot be read or put aside: {problem.strerror}.")
        if isinstance(problem, LotHeatError):
            # A busy store passes; the file is still there at the next look.
            return _notice(path, f"It is tried again: {problem}")
        _LOG.error("watched folder: %s", shown(path), exc_info=problem)
        known.failed = (
            f"It could not be taken in: {type(problem).__name__}. It is tried again once it is"
            " changed, or the server is started anew."
        )
        return _notice(path, known.failed)

    def _dealt(self, path: Path, known: _Known, now: float, *, locked: bool) -> Notice | None:
        """Do with a file what it is time for; what is to be said of it if it waits."""
        quiet = now - known.since
        if known.digest:
            self._cleared(path, known, quiet)
            return None
        if known.failed:
            return _notice(path, known.failed)
        if known.seen.size > LARGEST_MB * 1_000_000:
            return _notice(path, f"It is larger than {LARGEST_MB} MB. Split it into parts.")
        # Said of these very bytes, and not of what they have become since.
        by = self._called_whole.get(shown(path)) if known.looked else None
        if by is None:
            if quiet < self._quiet_s:
                return _passing(path, "It waits until nothing is written to it any more.")
            if waits := self._waits(path, known, quiet, locked=locked):
                return waits
        self._received(path, known, by=by or self._by)
        return None

    def _waits(self, path: Path, known: _Known, quiet: float, *, locked: bool) -> Notice | None:
        """Why a file that is quiet waits longer, or for a person; None if it does not."""
        if not known.looked:
            known.doubt, known.looked = doubt(shown(path), path.read_bytes()), True
        longer = quiet >= _LONGER * self._quiet_s
        if known.doubt is not None and not longer:
            return _passing(path, f"{known.doubt.what} It waits longer for the rest.")
        if known.doubt is not None and known.doubt.asks:
            return Notice(name=shown(path), what=f"{known.doubt.what} {_ASK}", asked=True)
        if locked and not longer:
            return _passing(path, "It is open in a spreadsheet program, and waits longer.")
        return None

    def _received(self, path: Path, known: _Known, *, by: Proof) -> None:
        """Read a file once, receive the bytes, and put the very same aside."""
        content = path.read_bytes()
        if seen(path) != known.seen:
            return
        name = shown(path)
        if path.parent.name != BEFORE or not aside.was_refused(self._folder, content):
            try:
                receipt = self._store.receive_bytes(name, content, by=by)
            except IntakeError as problem:
                aside.put_refused(self._folder, name, content, why=str(problem))
                _LOG.warning("watched folder: refused %s: %s", name, problem)
            else:
                aside.put_aside(self._folder, name, content, receipt=receipt.receipt)
        known.digest = aside.digest(content)
        self._count += 1

    def _cleared(self, path: Path, known: _Known, quiet: float) -> None:
        """Move what was dealt with out of the way, and at last away; never what was not read."""
        kept = path.parent.name == BEFORE
        if quiet < (_KEPT_S if kept else _STAYS * self._quiet_s):
            return
        if aside.digest(path.read_bytes()) != known.digest:
            # Written to without a trace in size and times: it begins anew.
            known.digest, known.looked, known.since = "", False, self._clock()
        elif kept:
            path.unlink()
        else:
            moved = aside.out_of_the_way(self._folder, path)
            self._known[moved] = _Known(
                seen=seen(moved), since=self._clock(), digest=known.digest, looked=True
            )

    def _say(self, notices: list[Notice]) -> None:
        for one in notices:
            if not (one.passes or one in self._said):
                _LOG.warning("watched folder: %s: %s", one.name, one.what)
        self._said = tuple(notices)
        self._board.say(notices)


def _passing(path: Path, what: str) -> Notice:
    return Notice(name=shown(path), what=what, passes=True)


def _notice(path: Path, what: str) -> Notice:
    return Notice(name=shown(path), what=what)
