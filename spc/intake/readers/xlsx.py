"""Outlines of the sheets of an XLSX workbook, from its markup."""

import html
import posixpath
import re
from collections.abc import Iterable, Iterator
from typing import Final
from xml.parsers import expat

from spc.intake.readers import limits
from spc.intake.readers.archive import Archive
from spc.intake.readers.outline import Outline, feed, refuse_spread

BOOK: Final = "xl/workbook.xml"
_RELATIONS: Final = "xl/_rels/workbook.xml.rels"

# Where a cell or a row says that it stands, such as r="B12" or r="12".
_PLACE: Final = re.compile(rb"""\sr\s*+=\s*+["']([A-Za-z]*+)([0-9]*+)["']""")
_ANY_CELL: Final = re.compile(rb"<(?:\w++:)?c[\s/>]")
_ANY_ROW: Final = re.compile(rb"<(?:\w++:)?row[\s/>]")
# A cell without text of its own: its place, other attributes, formula and stored value. What was
# matched is never given back, so that no markup can make the search long.
_CELL: Final = re.compile(
    rb"""<c\s(?P<attributes>[^<>]*+)>\s*+"""
    rb"""(?P<formula><f(?:\s[^<>]*+)?>(?P<text>[^<]*+)</f>\s*+|<f\s[^<>]*+>\s*+)?+"""
    rb"""(?:<v\s*+/>|<v\s*+>(?P<value>[^<]*+)</v>)?+\s*+</c>"""
)
_ERROR: Final = re.compile(rb"""\bt\s*=\s*["']e["']""")
_TEXT: Final = re.compile(rb"""\bt\s*=\s*["']str["']""")
# No sheet has more rows; longer names of columns would only take time to read.
_MOST_ROWS: Final = 1_048_576
_LONGEST_COLUMN, _LONGEST_ROW = 3, 7
_BEYOND: Final = limits.LARGEST_SPREAD + 1


def outlines(book: Archive) -> list[Outline]:
    """The outline of each sheet, in the order of the workbook.

    Raises
    ------
    UnreadableFile
        If a part is damaged, or a sheet spreads too far.
    """
    # The engine finds sheets by its own way through the workbook, so every part is looked at.
    by_part = {name: _outline(book.unpacked(name)) for name in book.parts}
    for outline in by_part.values():
        refuse_spread([outline])
    return [by_part.get(part, Outline()) for part in _sheets(book)]


def _sheets(book: Archive) -> list[str]:
    """The part of each sheet."""
    targets = {
        at.get("Id", ""): posixpath.join("xl", at.get("Target", "")).lstrip("/").lower()
        for name, at in _elements(book.unpacked(_RELATIONS))
        if name == "Relationship"
    }
    return [
        targets.get(next((value for key, value in at.items() if key.endswith(":id")), ""), "")
        for name, at in _elements(book.unpacked(BOOK))
        if name == "sheet"
    ]


def _elements(markup: Iterable[bytes]) -> list[tuple[str, dict[str, str]]]:
    """Name without prefix, and attributes, of every element."""
    found: list[tuple[str, dict[str, str]]] = []
    parser = expat.ParserCreate()
    parser.StartElementHandler = lambda name, at: found.append((name.rpartition(":")[2], at))
    feed(parser, markup)
    return found


def _outline(markup: Iterator[bytes]) -> Outline:
    rows = columns = 0
    unsaid: dict[tuple[int, int], str] = {}
    for text in _whole_cells(markup):
        below, right = _extent(text)
        rows, columns = max(rows, below), max(columns, right)
        if b"<f" in text or _ERROR.search(text):
            unsaid.update(_unsaid(text))
    return Outline(rows=rows, columns=columns, unsaid=unsaid)


def _whole_cells(markup: Iterator[bytes]) -> Iterator[bytes]:
    """Stretches that end before a cell, or at least before a tag."""
    rest = b""
    for stretch in markup:
        text = rest + stretch
        cut = text.rfind(b"<c ")
        cut = cut if cut > 0 else text.rfind(b"<")
        cut = cut if cut > 0 else len(text)
        yield text[:cut]
        rest = text[cut:]
    yield rest


def _extent(text: bytes) -> tuple[int, int]:
    """Rows and columns up to the outermost cell."""
    places = _PLACE.findall(text)
    cells = [place for place in places if place[0]]
    right = max(map(_column, {column for column, _ in cells}), default=0)
    if len(_ANY_CELL.findall(text)) > len(cells):
        # A cell that does not say where it stands is in the last row named, beside the one before.
        cells = places
        right = max([right, *(len(_ANY_CELL.findall(row)) for row in _ANY_ROW.split(text))])
    return max((_row(row) for _, row in cells), default=0), right


def _unsaid(text: bytes) -> Iterator[tuple[tuple[int, int], str]]:
    for cell in _CELL.finditer(text):
        place = _PLACE.search(b" " + cell["attributes"])
        if place is None:
            continue
        at = _row(place[2]) - 1, _column(place[1]) - 1
        if _ERROR.search(cell["attributes"]):
            yield at, _shown(cell["value"] or b"#ERROR")
        elif cell["formula"] and not cell["value"] and not _TEXT.search(cell["attributes"]):
            yield at, "=" + _shown(cell["text"] or b"")


def _shown(text: bytes) -> str:
    return html.unescape(text.decode(errors="replace"))


def _row(digits: bytes) -> int:
    row = int(digits or b"0") if len(digits) <= _LONGEST_ROW else _BEYOND
    return row if row <= _MOST_ROWS else _BEYOND


def _column(letters: bytes) -> int:
    if len(letters) > _LONGEST_COLUMN:
        return _BEYOND
    number = 0
    for letter in letters.upper():
        number = number * 26 + letter - ord("A") + 1
    return number
