"""What goes through the wall: a line and the bytes of a file in, frames of plain text out."""

import json
import struct
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import IO, Any, Final

# How a frame of rows begins, and the last one of an answer.
ROWS: Final = b'{"kind":"rows"'
DONE: Final = b'{"kind":"done"'

_LENGTH: Final = struct.Struct(">I")
# No frame is longer: rows go through the wall in stretches.
_LONGEST: Final = 1 << 28


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is to be read of a workbook.

    Attributes
    ----------
    sheet
        Its name; the first that is not hidden, if it is empty.
    every
        Every sheet instead.
    most_rows
        Rows that hold something, of each sheet; all of them if it is zero.
    seconds
        Of computing that it may take.
    """

    sheet: str = ""
    every: bool = False
    most_rows: int = 0
    seconds: int = 60


def ask(stream: IO[bytes], asked: Asked, content: bytes) -> None:
    """Send a request."""
    line = json.dumps({**asdict(asked), "size": len(content)}).encode()
    stream.write(_LENGTH.pack(len(line)) + line)
    stream.write(content)
    stream.flush()


def next_asked(stream: IO[bytes]) -> tuple[Asked, bytes] | None:
    """The next request; none once nobody is there to ask."""
    line = _piece(stream)
    if line is None:
        return None
    said: dict[str, Any] = json.loads(line)
    size = said.pop("size")
    content = stream.read(size)
    return (Asked(**said), content) if len(content) == size else None


def tell(stream: IO[bytes], kind: str, **said: object) -> None:
    """Send one frame of an answer."""
    frame = json.dumps({"kind": kind, **said}, separators=(",", ":")).encode()
    stream.write(_LENGTH.pack(len(frame)) + frame)


def answer(stream: IO[bytes]) -> Iterator[bytes]:
    """The frames of an answer as they come; they end where the other side does."""
    while (frame := _piece(stream)) is not None:
        yield frame


def _piece(stream: IO[bytes]) -> bytes | None:
    length = stream.read(_LENGTH.size)
    if len(length) < _LENGTH.size:
        return None
    (size,) = _LENGTH.unpack(length)
    piece = stream.read(size) if size <= _LONGEST else b""
    return piece if len(piece) == size else None
