"""Workbooks (XLSX, XLS, ODS) to a table: what their cells show, and nothing that they could do."""

import contextlib
import functools
import io
import zipfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from python_calamine import CalamineError, CalamineSheet, CalamineWorkbook

from spc.errors import UnreadableFile
from spc.intake.profiles.profile import FileForm
from spc.intake.readers import biff, compound, limits, ods, xlsx
from spc.intake.readers.archive import Archive, archive
from spc.intake.readers.header import Rows, head
from spc.intake.readers.outline import Outline, damaged
from spc.intake.readers.rows import blocks
from spc.intake.readers.table import Table, table, without_idle_rows

_BINARY: Final = "xl/workbook.bin"
# The part that makes an archive a workbook.
PARTS: Final = frozenset((xlsx.BOOK, ods.CONTENT, _BINARY))


@dataclass(frozen=True, slots=True, kw_only=True)
class Book:
    """A workbook that was opened.

    Attributes
    ----------
    names
        Of its sheets, in their order.
    """

    names: tuple[str, ...]
    _engine: CalamineWorkbook
    _outlines: Sequence[Outline]

    def rows(self, name: str, *, decimal: str) -> Rows:
        """Every row of a sheet from its first, also where nothing stands above or beside.

        Parameters
        ----------
        name
            The first sheet, if it is empty.
        decimal
            The sign to write numbers with.

        Raises
        ------
        UnreadableFile
            If there is no such sheet, or it is damaged.
        """
        name = name or next(iter(self.names), "")
        if name not in self.names:
            raise limits.unreadable(
                f"there is no sheet {name!r}; it has {', '.join(self.names)}.",
                "Correct the sheet's name in the source profile.",
            )
        place = self.names.index(name)
        with _failing(damaged):
            sheet = self._engine.get_sheet_by_index(place)
        return _rows(sheet, self._outlines[place], decimal)


def read(content: bytes, form: FileForm) -> Table:
    """Read one sheet of a workbook.

    Formulas are not evaluated and links not followed: a cell is the value that was stored in it.

    Raises
    ------
    UnreadableFile
        If it is no workbook, is damaged or locked, has no such sheet, or is beyond the limits.
    """
    rows = opened(content).rows(form.sheet, decimal=form.decimal)
    headers = head(rows, form)
    return table(headers, (without_idle_rows(some, form.comment) for some in blocks(rows)))


def opened(content: bytes) -> Book:
    """A workbook, once it is known to be safe to open.

    Raises
    ------
    UnreadableFile
        If it is no workbook, is damaged or locked, or is beyond the limits.
    """
    safe, outlines = _outlined(content)
    with _failing(damaged):
        engine = CalamineWorkbook.from_filelike(io.BytesIO(safe))
    if len(outlines) != len(engine.sheet_names):
        raise damaged("its list of sheets is not that of its parts")
    return Book(names=tuple(engine.sheet_names), _engine=engine, _outlines=outlines)


@contextlib.contextmanager
def _failing(refusal: Callable[[object], UnreadableFile]) -> Iterator[None]:
    """Failures of the engine as a refusal."""
    try:
        yield
    except (CalamineError, OverflowError, ValueError) as problem:
        raise refusal(problem) from problem
    except BaseException as problem:
        # A check that failed within the engine; its class cannot be imported, and is no Exception.
        if type(problem).__name__ == "PanicException":
            raise refusal("") from problem
        raise


def _no_date(row: int, _problem: object) -> UnreadableFile:
    return limits.unreadable(
        f"row {row} of the sheet holds a date or a time that no calendar has.",
        "Correct it, or write the cell as a number.",
    )


def _outlined(content: bytes) -> tuple[bytes, list[Outline]]:
    """Bytes that the engine may open, and the outline of each sheet."""
    if content.startswith(compound.MAGIC):
        stream, outlines = biff.outlined(compound.stream(content))
        return compound.container(stream), outlines
    if not zipfile.is_zipfile(io.BytesIO(content)):
        raise damaged()
    return content, _in_archive(archive(content))


def _in_archive(book: Archive) -> list[Outline]:
    kinds = PARTS & book.parts.keys()
    if kinds == {xlsx.BOOK}:
        return xlsx.outlines(book)
    if kinds == {ods.CONTENT}:
        return ods.outlines(book.unpacked(ods.CONTENT))
    if kinds == {_BINARY}:
        raise limits.unreadable(
            "it is a binary workbook (.xlsb), which is not read.",
            "Open it, save it as .xlsx and receive that.",
        )
    raise damaged()


def _rows(sheet: CalamineSheet, outline: Outline, decimal: str) -> Rows:
    # The engine gives every row from the first, but the columns only from where the cells begin.
    _, left = sheet.start or (0, 0)
    shown: dict[int, dict[int, str]] = {}
    for (row, column), text in outline.unsaid.items():
        shown.setdefault(row, {})[column] = text
    rows = sheet.iter_rows()
    for number in range(max([sheet.end[0] + 1 if sheet.end else 0, *(row + 1 for row in shown)])):
        with _failing(functools.partial(_no_date, number + 1)):
            cells = next(rows, [])
        texts = [*[""] * left, *(_text(cell, decimal) for cell in cells)]
        yield number + 1, _completed(texts, shown.get(number, {}))


def _completed(row: list[str], shown: Mapping[int, str]) -> list[str]:
    full = [*row, *[""] * (max(shown, default=0) + 1 - len(row))]
    return [text or shown.get(place, "") for place, text in enumerate(full)] if shown else row


def _text(cell: object, decimal: str) -> str:
    """A cell as a person would have typed it, in the file's own decimal sign."""
    if isinstance(cell, bool):
        return str(cell)
    if isinstance(cell, float):
        whole = cell.is_integer() and abs(cell) < 1e15
        # The workbook's own point would be read as a thousands sign where that is one.
        return str(int(cell)) if whole else repr(cell).replace(".", decimal)
    if isinstance(cell, datetime):
        return cell.isoformat(sep=" ", timespec="seconds")
    if isinstance(cell, date):
        return cell.isoformat()
    return str(cell)
