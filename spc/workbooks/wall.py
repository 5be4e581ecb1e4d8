"""The wall: a process of its own opens workbooks, and only plain descriptions come back.

What is in a workbook decides what its engine does, down to following chains round in circles. So it
runs where it can neither take all memory nor all time, and has nothing to lose; one that dies or is
stopped is replaced. It is started with the first workbook and kept for the next.
"""

import atexit
import json
import threading
from collections.abc import Sequence
from hashlib import sha256
from typing import Any, Final

from spc.workbooks.cells import Area, Sheet
from spc.workbooks.process import Broken, Process
from spc.workbooks.protocol import ROWS, Asked
from spc.workbooks.refusals import refusal

# Of computing: what every workbook may take, and what each million bytes adds, twice to six times
# what they need.
_SECONDS: Final = 20
_SECONDS_A_MB: Final = 20
# A longer description is not kept for whoever asks for the same sheet next.
_LARGEST_KEPT: Final = 50_000_000

_Frames = tuple[bytes, ...]


def sheet(content: bytes, name: str = "") -> Sheet:
    """One sheet of a workbook; the first that is not hidden, if it has no name.

    Raises
    ------
    UnreadableFile
        If it is no workbook, is damaged or locked, has no such sheet, or is beyond the limits.
    """
    return _sheets(_WALL.frames(content, Asked(sheet=name, seconds=_seconds(content))))[0]


def sheets(content: bytes, *, most_rows: int) -> list[Sheet]:
    """The first rows of every sheet of a workbook.

    Raises
    ------
    UnreadableFile
        If it is no workbook, is damaged or locked, or is beyond the limits.
    """
    asked = Asked(every=True, most_rows=most_rows, seconds=_seconds(content))
    return _sheets(_WALL.frames(content, asked))


def _seconds(content: bytes) -> int:
    return _SECONDS + _SECONDS_A_MB * len(content) // 1_000_000


class _Wall:
    """One process, asked by one thread after the other, and the last answer it gave."""

    def __init__(self) -> None:
        self._one_at_a_time = threading.Lock()
        self._process: Process | None = None
        self._kept: tuple[object, _Frames] = (None, ())

    def frames(self, content: bytes, asked: Asked) -> _Frames:
        """What the process says of a workbook.

        Profiles are tried one after the other, so that the same is asked several times in a row.
        """
        key = sha256(content).digest(), asked
        with self._one_at_a_time:
            kept, frames = self._kept
            if kept != key:
                frames = self._answer(content, asked)
                small = sum(map(len, frames)) <= _LARGEST_KEPT
                self._kept = (key, frames) if small else (None, ())
            return frames

    def _answer(self, content: bytes, asked: Asked) -> _Frames:
        # It may have been ended from outside, or by the file: only who asks twice can tell.
        for _ in range(2):
            process = self._process
            if process is None or not process.is_usable:
                self.close()
                process = self._process = Process()
            try:
                return process.answer(content, asked)
            except Broken:
                self.close()
        raise refusal("broken")

    def close(self) -> None:
        """End the process."""
        process, self._process = self._process, None
        if process is not None:
            process.close()


_WALL: Final = _Wall()
atexit.register(_WALL.close)


def _sheets(frames: Sequence[bytes]) -> list[Sheet]:
    names: list[str] = []
    found: list[Sheet] = []
    rows: list[bytes] = []
    about: dict[str, Any] = {}
    for frame in frames:
        # Rows are left packed; there may be millions.
        if frame.startswith(ROWS):
            rows.append(frame)
            continue
        said = json.loads(frame)
        if said["kind"] == "refused":
            raise refusal(said["why"], said["about"], names=names)
        if said["kind"] == "sheets":
            names = [name for name, _ in said["sheets"]]
        elif said["kind"] == "sheet":
            about, rows = said, []
        elif said["kind"] == "around":
            found.append(_sheet(about, said, rows))
    if not found:
        raise refusal("none")
    return found


def _sheet(about: dict[str, Any], around: dict[str, Any], rows: list[bytes]) -> Sheet:
    areas = [Area(top=t, left=a, bottom=b, right=r) for t, a, b, r in around["merged"]]
    return Sheet(
        name=about["name"],
        hidden=about["hidden"],
        packed=tuple(rows),
        hidden_columns=frozenset(around["hidden_columns"]),
        merged=tuple(areas),
    )
