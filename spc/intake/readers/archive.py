"""The parts of a zip archive, unpacked bit by bit and never beyond what they claim."""

import io
import struct
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from spc.intake.readers import limits
from spc.intake.readers.outline import damaged

_PACKED_AT_ONCE: Final = 1 << 16
_UNPACKED_AT_ONCE: Final = 1 << 20
_KNOWN_WAYS: Final = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_LOCKED: Final = 0x1


@dataclass(frozen=True, slots=True, kw_only=True)
class Archive:
    """A zip archive within the limits.

    Attributes
    ----------
    parts
        By name in small letters: a name is no more than that to the engines.
    """

    content: bytes
    parts: dict[str, zipfile.ZipInfo]

    def unpacked(self, name: str) -> Iterator[bytes]:
        """A part, stretch by stretch; nothing if there is no such part.

        Raises
        ------
        UnreadableFile
            If the part is damaged, or larger than the archive says.
        """
        part = self.parts.get(name)
        if part is None:
            return
        left = part.file_size
        try:
            for stretch in _inflated(self._packed(part), part.compress_type):
                left -= len(stretch)
                if left < 0:
                    break
                yield stretch
        except (zlib.error, struct.error) as problem:
            raise damaged(problem) from problem
        if left:
            raise damaged(f"{name} has another size than the archive says")

    def _packed(self, part: zipfile.ZipInfo) -> memoryview:
        # The names before a part may differ in length from those in the archive's directory.
        name, extra = struct.unpack_from("<26x2H", self.content, part.header_offset)
        start = part.header_offset + 30 + name + extra
        return memoryview(self.content)[start : start + part.compress_size]


def archive(content: bytes) -> Archive:
    """The directory of a zip archive.

    Raises
    ------
    UnreadableFile
        If it is none, is locked, or would unpack beyond the limits.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as directory:
            entries = directory.infolist()
    except (zipfile.BadZipFile, RuntimeError, ValueError, OSError, struct.error) as problem:
        raise damaged(problem) from problem
    size = sum(entry.file_size for entry in entries)
    if size > limits.LARGEST_UNPACKED_MB * 1_000_000:
        raise limits.unreadable(
            "it unpacks to an unreasonable size.", "Ask its source for a plain file."
        )
    if size > max(limits.SMALLEST_SUSPECT_MB * 1_000_000, limits.LARGEST_RATIO * len(content)):
        raise limits.unreadable(
            f"it unpacks to {size // len(content):,} times its size.",
            "Ask its source for a plain file.",
        )
    if any(one.compress_type not in _KNOWN_WAYS or one.flag_bits & _LOCKED for one in entries):
        raise damaged("packed in an unknown way, or with a password")
    parts = {one.filename.lower(): one for one in entries}
    if len(parts) < len(entries):
        raise damaged("two parts of one name")
    return Archive(content=content, parts=parts)


def _inflated(packed: memoryview, way: int) -> Iterator[bytes]:
    inflater = zlib.decompressobj(-zlib.MAX_WBITS)
    for at in range(0, len(packed), _PACKED_AT_ONCE):
        rest = bytes(packed[at : at + _PACKED_AT_ONCE])
        if way == zipfile.ZIP_STORED:
            yield rest
            continue
        while rest and not inflater.eof:
            yield inflater.decompress(rest, _UNPACKED_AT_ONCE)
            rest = inflater.unconsumed_tail
    yield inflater.flush()
