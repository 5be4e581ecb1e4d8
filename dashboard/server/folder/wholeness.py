"""Whether bytes can be a whole file, or the beginning of one that is still being written."""

import json
from dataclasses import dataclass
from typing import Final

from spc.errors import UnreadableFile
from spc.intake.readers.dialect import dialect
from spc.intake.readers.kinds import kind_of

_PACKED: Final = (b"PK\x03\x04", b"PK\x05\x06", b"\xd0\xcf\x11\xe0", b"PAR1")
_ENDS: Final = (b"\n", b"\r")
_ENDS_WIDE: Final = (b"\n\0", b"\r\0")
_LITTLE_ENDIAN: Final = b"\xff\xfe"
_LONGEST: Final = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """Why bytes may be half a file.

    Attributes
    ----------
    asks
        Whether only a person can tell; what cannot be read at all is refused, and asks nobody.
    """

    what: str
    asks: bool = False


def doubt(name: str, content: bytes) -> Doubt | None:
    """What says that bytes may be half a file; None if nothing does.

    Parameters
    ----------
    name
        Of the file.
    content
        Its bytes so far.
    """
    if not content.strip(b"\0 \t\r\n"):
        return Doubt(what="It is empty.")
    if content.startswith(_PACKED):
        return _unopened(name, content)
    try:
        kind = kind_of(name, content)
    except UnreadableFile:
        # It holds no table, and the store says what it is.
        return None
    if kind == "json":
        return None if _closes(content) else Doubt(what="It ends before its last bracket.")
    return _unended(content)


def _unended(content: bytes) -> Doubt | None:
    if content.endswith(_ENDS_WIDE if content.startswith(_LITTLE_ENDIAN) else _ENDS):
        return None
    if content.endswith(b"\0"):
        return Doubt(what="It ends in empty space, as if more were to come.", asks=True)
    return Doubt(
        what=f"It ends within a line: {_last(content)!r} has no end, and may go on.", asks=True
    )


def _unopened(name: str, content: bytes) -> Doubt | None:
    try:
        dialect(name, content)
    except UnreadableFile as problem:
        return Doubt(what=f"It does not open: {problem.what}")
    return None


def _closes(content: bytes) -> bool:
    try:
        json.loads(content)
    except (ValueError, RecursionError):
        return False
    return True


def _last(content: bytes) -> str:
    """What stands after the last end of a line, or the end of that."""
    line = content[-1000:].replace(b"\r", b"\n").rsplit(b"\n", 1)[-1]
    return line.replace(b"\0", b"").decode("utf-8", errors="replace")[-_LONGEST:]
