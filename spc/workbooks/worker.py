"""The process behind the wall: opens one workbook after the other, and can do nothing else.

It is started by `wall`, and ends when nobody is there to ask any more.
"""

import os
import struct
import sys
import zipfile
import zlib
from collections.abc import Iterator
from typing import BinaryIO, Final

import xlrd  # type: ignore[import-untyped]
from odfdo.security import SecurityError
from xlrd.compdoc import CompDocError  # type: ignore[import-untyped]

from spc.workbooks import fences, ods, protocol, xls, xlsx
from spc.workbooks.cells import Cell
from spc.workbooks.packing import OLD, kind_of_archive, refuse_locked
from spc.workbooks.protocol import Asked, tell
from spc.workbooks.rows import Around, Page, Row
from spc.workbooks.spread import Refused, refuse_spread

# Cells that go through the wall together.
_AT_ONCE: Final = 20_000
# How the engines say that they do not understand a file; all else ends the process.
_DAMAGED: Final = (
    *(ArithmeticError, AssertionError, AttributeError, LookupError, OSError, RuntimeError),
    *(SyntaxError, TypeError, ValueError, struct.error, zipfile.BadZipFile, zlib.error),
    *(CompDocError, SecurityError, xlrd.XLRDError),
)


def main() -> None:
    """Answer until nobody asks, or until memory has grown too large to be kept."""
    asking, telling = _streams()
    fences.raise_all()
    fences.end_with_parent()
    is_last = False
    while not is_last and (request := protocol.next_asked(asking)) is not None:
        asked, content = request
        fences.allow_seconds(asked.seconds)
        _answer_or_refuse(telling, asked, content)
        is_last = fences.is_swollen()
        tell(telling, "done", last=is_last)
        telling.flush()


def _streams() -> tuple[BinaryIO, BinaryIO]:
    """Where requests come from and answers go to; what the engines print goes nowhere."""
    asking, telling = os.dup(0), os.dup(1)
    nowhere = os.open(os.devnull, os.O_RDWR)
    for standard in (0, 1, 2):
        os.dup2(nowhere, standard)
    return os.fdopen(asking, "rb"), os.fdopen(telling, "wb")


def _answer_or_refuse(telling: BinaryIO, asked: Asked, content: bytes) -> None:
    try:
        _answer(telling, asked, content)
    except BrokenPipeError:
        # Nobody waits for it any more.
        sys.exit()
    except Refused as refused:
        tell(telling, "refused", why=refused.why, about=refused.about)
    except MemoryError:
        tell(telling, "refused", why="memory", about="")
    except _DAMAGED as problem:
        tell(telling, "refused", why=_meant(problem), about="")


def _meant(problem: BaseException) -> str:
    if "encrypted" in str(problem):
        return "locked"
    return "memory" if fences.is_short_of_memory() else "damaged"


def _answer(telling: BinaryIO, asked: Asked, content: bytes) -> None:
    pages = _pages(content)
    tell(telling, "sheets", sheets=[(page.name, page.hidden) for page in pages])
    for page in _wanted(pages, asked):
        _tell_page(telling, page, asked.most_rows)


def _pages(content: bytes) -> list[Page]:
    if content.startswith(OLD):
        refuse_locked(content)
        return xls.pages(content)
    return {"xlsx": xlsx.pages, "ods": ods.pages}[kind_of_archive(content)](content)


def _wanted(pages: list[Page], asked: Asked) -> list[Page]:
    if asked.every:
        return pages
    if not asked.sheet:
        return ([page for page in pages if not page.hidden] or pages)[:1]
    found = [page for page in pages if page.name == asked.sheet]
    if not found:
        raise Refused("sheet", asked.sheet)
    return found


def _tell_page(telling: BinaryIO, page: Page, most_rows: int) -> None:
    tell(telling, "sheet", name=page.name, hidden=page.hidden)
    around = Around()
    for rows in _stretches(page.rows(around), most_rows):
        tell(
            telling,
            "rows",
            rows=[(row.number, _line(row)) for row in rows],
            hidden=[row.number for row in rows if row.hidden],
            struck=[(row.number, column) for row in rows for column in row.struck],
            errors=[(row.number, column) for row in rows for column in row.errors],
            unlike=[(row.number, column) for row in rows for column in row.unlike],
        )
    tell(telling, "around", hidden_columns=sorted(around.hidden_columns), merged=around.merged)


def _stretches(rows: Iterator[Row], most_rows: int) -> Iterator[list[Row]]:
    """Rows that hold something, many at once; no sheet spreads too far."""
    found: list[Row] = []
    count = cells = widest = last = 0
    for row in rows:
        if row.number <= last:
            raise ValueError("its rows are out of order")
        last = row.number
        if not row.cells:
            continue
        widest = max(widest, max(row.cells) + 1)
        refuse_spread(row.number, widest)
        found.append(row)
        count, cells = count + 1, cells + len(row.cells)
        if cells > _AT_ONCE:
            yield found
            found, cells = [], 0
        if count == most_rows:
            break
    yield found


def _line(row: Row) -> list[Cell]:
    """The cells of a row up to the last; empty where there is none."""
    return [row.cells.get(column, "") for column in range(max(row.cells) + 1)]


if __name__ == "__main__":
    main()
