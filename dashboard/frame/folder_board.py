"""What the watched folder says of its files, for the screen; and what people answer it."""

import threading
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from spc.store.people import Proof


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice:
    """What is said of one file, folder or link.

    Attributes
    ----------
    name
        As it can be shown.
    what
        A sentence or two: what is so, and what to do.
    asked
        Whether a person has to say that the file is whole.
    passes
        Whether it settles by itself, as a file does that is still being written.
    """

    name: str
    what: str
    asked: bool = False
    passes: bool = False


class Board:
    """Where the watcher and the screens, each in a thread of its own, leave word for each other."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._place: Path | None = None
        self._notices: tuple[Notice, ...] = ()
        self._answers: dict[str, Proof] = {}

    @property
    def place(self) -> Path | None:
        """The folder that is watched; None if none is."""
        return self._place

    @property
    def notices(self) -> tuple[Notice, ...]:
        """What was said at the last look."""
        return self._notices

    def begin(self, place: Path) -> None:
        """A folder is watched from now on."""
        self._place, self._notices = place, ()

    def end(self) -> None:
        """No folder is watched any more."""
        self._place, self._notices = None, ()
        self.answers()

    def say(self, notices: Sequence[Notice]) -> None:
        """Show what is said of the folder's files now, in place of what was said before."""
        self._notices = tuple(notices)

    def answer(self, name: str, *, by: Proof) -> None:
        """A person says that a file is whole as it is."""
        with self._lock:
            self._answers[name] = by

    def answers(self) -> dict[str, Proof]:
        """Files that people called whole since this was asked last, each with who did."""
        with self._lock:
            given, self._answers = self._answers, {}
        return given


BOARD = Board()
