"""The stream of an old workbook, out of its compound file and into a plain one.

The engine follows the chains of a compound file wherever they lead, round in circles too. So the
stream is taken out here, within bounds, and handed on in a container that has one straight chain.

References
----------
[MS-CFB] Compound File Binary File Format, sections 2.2 to 2.6.
"""

import itertools
import struct
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.intake.readers import limits
from spc.intake.readers.outline import damaged

MAGIC: Final = bytes.fromhex("D0CF11E0A1B11AE1")

_STREAMS: Final = ("Workbook", "Book")
# Marks in the table of sectors: a sector of the table itself, end of a chain, nothing.
_TABLE, _END, _NOTHING = 0xFFFFFFFD, 0xFFFFFFFE, 0xFFFFFFFF
_IN_HEADER: Final = 109
_ENTRY: Final = 128
# Streams below this size lie in small sectors, within the stream of the root entry.
_SMALL_BELOW: Final = 4096
_SMALL_SECTOR: Final = 64
_SHIFTS: Final = (9, 12)
_SECTOR: Final = 4096
# Sectors of the largest file that is read.
_LONGEST_CHAIN: Final = limits.LARGEST_XLS_MB * 1_000_000 // 512

_Numbers = NDArray[np.uint32]


def stream(content: bytes) -> bytes:
    """The stream that holds the workbook.

    Raises
    ------
    UnreadableFile
        If there is none, the chain of its sectors is broken, or the file is too large.
    """
    if len(content) > limits.LARGEST_XLS_MB * 1_000_000:
        raise limits.unreadable(
            f"it is an old workbook of more than {limits.LARGEST_XLS_MB} MB.",
            "Save it as .xlsx and receive that.",
        )
    try:
        return _Compound(content).workbook()
    except ValueError as problem:
        raise damaged(problem) from problem
    except (struct.error, IndexError) as problem:
        raise damaged("a chain of it leads nowhere") from problem


def container(workbook: bytes) -> bytes:
    """A compound file of nothing but this stream."""
    size = max(len(workbook), _SMALL_BELOW)
    sectors = -(-size // _SECTOR)
    a_table = _SECTOR // 4
    tables = next(n for n in itertools.count(1) if n * a_table >= n + 1 + sectors)
    chain = [*range(tables + 2, tables + 1 + sectors), _END]
    table = [*[_TABLE] * tables, _END, *chain]
    table += [_NOTHING] * (tables * a_table - len(table))
    header = struct.pack(
        "<8s16x5H6x9I",
        *(MAGIC, 0x3E, 3, 0xFFFE, 12, 6),
        *(1, tables, tables, 0, _SMALL_BELOW, _END, 0, _END, 0),
    )
    in_header = [*range(tables), *[_NOTHING] * (_IN_HEADER - tables)]
    return b"".join(
        [
            (header + struct.pack(f"<{_IN_HEADER}I", *in_header)).ljust(_SECTOR, b"\0"),
            struct.pack(f"<{len(table)}I", *table),
            (_entry("Root Entry", 5, _END, 0) + _entry(_STREAMS[0], 2, tables + 1, size)).ljust(
                _SECTOR, b"\0"
            ),
            workbook.ljust(sectors * _SECTOR, b"\0"),
        ]
    )


def _entry(name: str, kind: int, start: int, size: int) -> bytes:
    text = name.encode("utf-16-le")
    child = 1 if kind == 5 else _NOTHING
    return struct.pack(
        "<64sHBB3I36xIQ", text, len(text) + 2, kind, 1, _NOTHING, _NOTHING, child, start, size
    )


@dataclass(frozen=True, slots=True)
class _Entry:
    name: str
    start: int
    size: int


class _Compound:
    """A compound file as it came."""

    def __init__(self, content: bytes) -> None:
        (shift,) = struct.unpack_from("<H", content, 30)
        if shift not in _SHIFTS:
            raise ValueError("its sectors have no known size")
        size = 1 << shift
        # The last sector may be cut short where nothing follows.
        whole = content.ljust(-(-len(content) // size) * size, b"\0")
        self._sectors = np.frombuffer(whole, np.uint8).reshape(-1, size)[1:]
        directory, small, more = struct.unpack_from("<I8xI4xI", content, 48)
        # More of the table than there are sectors could only say the same again.
        needed = -(-len(self._sectors) * 4 // size)
        self._table = self._numbers(self._tables(content, more)[:needed])
        self._small_table = self._numbers(self._chain(self._table, small))
        self._entries = list(_entries(self._joined(self._chain(self._table, directory)), size))

    def workbook(self) -> bytes:
        for name in _STREAMS:
            for entry in self._entries:
                if entry.name == name:
                    return self._content(entry)[: entry.size]
        raise ValueError("it holds no workbook")

    def _content(self, entry: _Entry) -> bytes:
        if entry.size >= _SMALL_BELOW:
            return self._joined(self._chain(self._table, entry.start))
        root = self._joined(self._chain(self._table, self._entries[0].start))
        places = self._chain(self._small_table, entry.start)
        return b"".join(root[at * _SMALL_SECTOR : (at + 1) * _SMALL_SECTOR] for at in places)

    def _tables(self, content: bytes, more: int) -> list[int]:
        """The sectors that hold the table of sectors."""
        found = list(struct.unpack_from(f"<{_IN_HEADER}I", content, 76))
        while more < _TABLE:
            *further, more = self._numbers([more]).tolist()
            found += further
            if len(found) > _IN_HEADER + len(self._sectors):
                raise ValueError("a chain of it goes round in circles")
        return [sector for sector in found if sector != _NOTHING]

    def _chain(self, table: _Numbers, start: int) -> list[int]:
        found: list[int] = []
        while start < _TABLE:
            found.append(start)
            if len(found) > _LONGEST_CHAIN or len(found) > len(table):
                raise ValueError("a chain of it goes round in circles")
            start = int(table[start])
        return found

    def _joined(self, places: Sequence[int]) -> bytes:
        return self._sectors[places].tobytes() if places else b""

    def _numbers(self, places: Sequence[int]) -> _Numbers:
        return np.frombuffer(self._joined(places), np.dtype("<u4"))


def _entries(listed: bytes, sector: int) -> Iterator[_Entry]:
    for at in range(0, len(listed) - _ENTRY + 1, _ENTRY):
        name = listed[at : at + 64].decode("utf-16-le", errors="replace").partition("\0")[0]
        start, size, high = struct.unpack_from("<3I", listed, at + 116)
        # The upper half of the size is not used where sectors are small, and may hold anything.
        yield _Entry(name, start, size if sector != _SECTOR else size + (high << 32))
