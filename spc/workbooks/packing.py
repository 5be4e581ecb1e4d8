"""What kind of workbook some bytes are, and whether they unpack to a reasonable size."""

import io
import zipfile
from typing import Final, Literal

from spc.workbooks.spread import Refused

# How a compound file begins, in which old workbooks and locked new ones come.
OLD: Final = bytes.fromhex("D0CF11E0A1B11AE1")
# What an archive may unpack to: a full sheet of a million rows has some 500 MB of markup.
LARGEST_UNPACKED: Final = 1_000_000_000
# The markup of sheets packs ten- to fifty-fold; only filler packs better than this.
LARGEST_RATIO: Final = 300
# Below this an archive may pack as well as it likes: empty sheets do.
SMALLEST_SUSPECT: Final = 10_000_000

_KINDS: Final[dict[str, Literal["xlsx", "ods"]]] = {"xl/workbook.xml": "xlsx", "content.xml": "ods"}
_BINARY: Final = "xl/workbook.bin"
_MANIFEST: Final = "META-INF/manifest.xml"
_LOCKED: Final = 0x1
_LOCKED_PART: Final = "EncryptedPackage".encode("utf-16-le")


def kind_of_archive(content: bytes) -> Literal["xlsx", "ods"]:
    """The kind of a workbook in an archive.

    Raises
    ------
    Refused
        If it is locked, would unpack to too much, or is no workbook that is read.
    """
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        _refuse_size(archive, len(content))
        names = set(archive.namelist())
        if len(names) < len(archive.namelist()):
            # Every program would take another of them.
            raise Refused("damaged")
        if any(part.flag_bits & _LOCKED for part in archive.infolist()):
            raise Refused("locked")
        if _MANIFEST in names and b"encryption-data" in archive.read(_MANIFEST):
            raise Refused("locked")
    if _BINARY in names:
        raise Refused("binary")
    kinds = {kind for name, kind in _KINDS.items() if name in names}
    if len(kinds) != 1:
        raise Refused("none")
    return kinds.pop()


def refuse_locked(content: bytes) -> None:
    """Refuse a new workbook that lies locked within a compound file.

    Raises
    ------
    Refused
        If it does.
    """
    if _LOCKED_PART in content:
        raise Refused("locked")


def _refuse_size(archive: zipfile.ZipFile, packed: int) -> None:
    # No part is read beyond what it claims here.
    size = sum(part.file_size for part in archive.infolist())
    if size > LARGEST_UNPACKED:
        raise Refused("size")
    if size > max(SMALLEST_SUSPECT, LARGEST_RATIO * packed):
        raise Refused("ratio", f"{size // packed:,}")
