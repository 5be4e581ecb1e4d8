"""Outlines of the sheets of an old workbook, from its records.

References
----------
[MS-XLS] Excel Binary File Format, sections 2.3 and 2.4.
"""

import struct
from collections.abc import Iterator
from typing import Final

from spc.intake.readers import limits
from spc.intake.readers.outline import Outline, damaged, refuse_spread

_END, _LOCKED, _SHEET, _STRINGS, _DIMENSIONS = 0x000A, 0x002F, 0x0085, 0x00FC, 0x0200
_FORMULA, _SEVERAL, _TRUTH_OR_ERROR = 0x0006, 0x00BD, 0x0205
# Every record that puts something into cells: formula, several numbers, shared text, number,
# text, truth or error, number in short, text with fonts.
_CELLS: Final = frozenset(
    (_FORMULA, _SEVERAL, 0x00FD, 0x0203, 0x0204, _TRUTH_OR_ERROR, 0x027E, 0x00D6)
)
_ERRORS: Final = {
    0x00: "#NULL!",
    0x07: "#DIV/0!",
    0x0F: "#VALUE!",
    0x17: "#REF!",
    0x1D: "#NAME?",
    0x24: "#NUM!",
    0x2A: "#N/A",
}
_SMALLEST_STRING: Final = 3

_Record = tuple[int, int, int]


def outlined(stream: bytes) -> tuple[bytes, list[Outline]]:
    """A workbook's stream that is safe to open, and the outline of each sheet in its order.

    What a sheet states as its dimensions is blanked out: the engine would make room for them, and
    finds the cells without.

    Raises
    ------
    UnreadableFile
        If the records are damaged or locked, or the sheets spread too far.
    """
    safe = bytearray(stream)
    try:
        sheets = [_sheet(safe, at) for at in _starts(safe)]
    except struct.error as problem:
        raise damaged(problem) from problem
    if sum(walked for walked, _ in sheets) > len(stream):
        raise damaged("its sheets lie in one another")
    outlines = [outline for _, outline in sheets]
    refuse_spread(outlines)
    return bytes(safe), outlines


def _starts(stream: bytearray) -> list[int]:
    """Where the records of each sheet begin."""
    found: list[int] = []
    for kind, at, _ in _records(stream, 0):
        if kind == _LOCKED:
            raise damaged("locked with a password")
        if kind == _SHEET:
            found += struct.unpack_from("<I", stream, at)
        elif kind == _STRINGS:
            (count,) = struct.unpack_from("<4xi", stream, at)
            if not 0 <= count * _SMALLEST_STRING <= len(stream):
                raise damaged("it claims more texts than it can hold")
    if len(found) > limits.MOST_SHEETS or any(at >= len(stream) for at in found):
        raise damaged("it claims sheets that it does not hold")
    return found


def _sheet(stream: bytearray, start: int) -> tuple[int, Outline]:
    """How many bytes the records of a sheet take, and its outline."""
    rows = columns = 0
    unsaid: dict[tuple[int, int], str] = {}
    end = start
    for kind, at, size in _records(stream, start):
        end = at + size
        if kind == _DIMENSIONS:
            stream[at:end] = bytes(size)
        if kind not in _CELLS:
            continue
        row, first = struct.unpack_from("<2H", stream, at)
        last = struct.unpack_from("<H", stream, end - 2)[0] if kind == _SEVERAL else first
        rows, columns = max(rows, row + 1), max(columns, last + 1)
        if error := _error(stream, (kind, at, size)):
            unsaid[row, first] = error
    return end - start, Outline(rows=rows, columns=columns, unsaid=unsaid)


def _error(stream: bytearray, record: _Record) -> str:
    kind, at, size = record
    if kind == _TRUTH_OR_ERROR and size == 8 and stream[at + 7] == 1:
        return _ERRORS.get(stream[at + 6], "#ERROR")
    # A result that is no number is marked by two full bytes at its end; the first says what it is.
    if kind == _FORMULA and size >= 14 and stream[at + 12 : at + 14] == b"\xff\xff":
        return _ERRORS.get(stream[at + 8], "#ERROR") if stream[at + 6] == 2 else ""
    return ""


def _records(stream: bytearray, at: int) -> Iterator[_Record]:
    """Kind, place and size of each record, up to the end of the part that begins here."""
    while at + 4 <= len(stream):
        kind, size = struct.unpack_from("<2H", stream, at)
        if at + 4 + size > len(stream):
            raise damaged("its last record is cut short")
        if kind == _END:
            return
        yield kind, at + 4, size
        at += 4 + size
