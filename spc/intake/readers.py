"""Bytes of a file to a table of texts; nothing is interpreted here but the layout."""

import csv
import io
import itertools
import re
import zipfile
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final

import pandas as pd
from python_calamine import CalamineError, CalamineWorkbook

from spc.errors import UnreadableFile
from spc.intake.profile import FileForm

LARGEST_MB: Final = 200
LARGEST_UNPACKED_MB: Final = 1000
LARGEST_SPREAD: Final = 20_000_000

# Where a cell of a sheet's XML stands, such as r="B12".
_PLACE: Final = re.compile(rb'\sr="([A-Z]{1,3})([0-9]{1,7})"')


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """The rows of a file below its header, every cell as text.

    Attributes
    ----------
    cells
        One column a header; the index is the row's number in the file, counted from 1.
    """

    headers: tuple[str, ...]
    cells: pd.DataFrame


def read(content: bytes, form: FileForm) -> Table:
    """Read a file by its layout.

    Raises
    ------
    UnreadableFile
        If the bytes are empty, too large, or not what the layout says.
    """
    if not content.strip():
        raise _unreadable("the file is empty.", "Ask its source to send it again.")
    if len(content) > LARGEST_MB * 1_000_000:
        raise _unreadable(
            f"the file is larger than {LARGEST_MB} MB.", "Split it and receive the parts."
        )
    rows = _workbook(content, form) if form.kind == "workbook" else _delimited(content, form)
    return _table(rows, form)


def _delimited(content: bytes, form: FileForm) -> list[tuple[int, list[str]]]:
    encoding = "utf-8-sig" if form.encoding.lower() == "utf-8" else form.encoding
    try:
        text = content.decode(encoding)
    except (UnicodeDecodeError, LookupError) as problem:
        raise _unreadable(
            f"the bytes are not {form.encoding} text ({problem}).",
            "Correct the encoding in the source profile.",
        ) from problem
    if "\0" in text:
        raise _unreadable("it is not a text file.", "Export it as CSV, or correct the profile.")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=form.delimiter, strict=True)
    rows: list[tuple[int, list[str]]] = []
    try:
        while (first := reader.line_num + 1) and (row := next(reader, None)) is not None:
            rows.append((first, row))
    except csv.Error as problem:
        raise _unreadable(
            f"line {reader.line_num} is damaged: {problem}.",
            "Mend the quotes in that line, or ask for the file again.",
        ) from problem
    return rows


def _workbook(content: bytes, form: FileForm) -> list[tuple[int, list[str]]]:
    _refuse_bomb(content)
    try:
        cells = _sheet(CalamineWorkbook.from_filelike(io.BytesIO(content)), form.sheet)
    except CalamineError as problem:
        raise _unreadable(
            f"it is not a workbook, or a damaged one ({problem}).",
            "Open it, save it as .xlsx and receive that.",
        ) from problem
    return [
        (number, [_text(cell, form.decimal) for cell in row])
        for number, row in enumerate(cells, start=1)
    ]


def _sheet(book: CalamineWorkbook, wanted: str) -> list[list[Any]]:
    name = wanted or next(iter(book.sheet_names), "")
    if name not in book.sheet_names:
        raise _unreadable(
            f"there is no sheet {name!r}; it has {', '.join(book.sheet_names)}.",
            "Correct the sheet's name in the source profile.",
        )
    return book.get_sheet_by_name(name).to_python(skip_empty_area=False)


def _refuse_bomb(content: bytes) -> None:
    """A workbook is a zip archive; one that unpacks or spreads beyond reason is not opened."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            entries = archive.infolist()
            if sum(entry.file_size for entry in entries) > LARGEST_UNPACKED_MB * 1_000_000:
                raise _unreadable(
                    "it unpacks to an unreasonable size.", "Ask its source for a plain file."
                )
            spread = max(
                (_spread(archive.read(one)) for one in entries if _is_sheet(one)), default=0
            )
    except (zipfile.BadZipFile, zlib.error, EOFError, RuntimeError, ValueError) as problem:
        raise _unreadable(
            "it is not a workbook, or a damaged or locked one.",
            "Open it, save it as .xlsx and receive that.",
        ) from problem
    if spread > LARGEST_SPREAD:
        raise _unreadable(
            f"a sheet of it spreads over {spread:,} cells.",
            "Look for a stray entry far below or right of the table, and clear it.",
        )


def _is_sheet(entry: zipfile.ZipInfo) -> bool:
    return entry.filename.startswith("xl/worksheets/") and entry.filename.endswith(".xml")


def _spread(sheet: bytes) -> int:
    """Rows times columns up to the outermost cell: the engine holds all of them in memory."""
    places = _PLACE.findall(sheet)
    if not places:
        return 0
    columns = {column for column, _ in places}
    return max(int(row) for _, row in places) * max(map(_column_number, columns))


def _column_number(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + letter - ord("A") + 1
    return number


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


def _table(rows: list[tuple[int, list[str]]], form: FileForm) -> Table:
    body = [
        (number, [cell.strip() for cell in row])
        for number, row in rows[form.skip_rows :]
        if any(cell.strip() for cell in row)
        and not (form.comment and row and row[0].lstrip().startswith(form.comment))
    ]
    if len(body) < form.header_rows:
        raise _unreadable("it has no header.", "Ask its source to send it again.")
    headers = _headers([row for _, row in body[: form.header_rows]])
    data = body[form.header_rows :]
    width = len(headers)
    # Cells beyond the header are kept under a name of their own, so that the row can be held.
    cells = pd.DataFrame(
        [_fitted(row, width) for _, row in data],
        columns=[*headers, SURPLUS],
        index=pd.Index([number for number, _ in data], dtype="int64", name="source_row"),
        dtype="str",
    )
    return Table(headers=headers, cells=cells)


# Header of the cells that a row has beyond the file's header.
SURPLUS: Final = "\x00surplus"


def _fitted(row: list[str], width: int) -> list[str]:
    surplus = " ".join(cell for cell in row[width:] if cell)
    return [*row[:width], *[""] * (width - len(row)), surplus]


def _headers(rows: list[list[str]]) -> tuple[str, ...]:
    lower = rows[-1]
    if len(rows) > 1:
        uppers = list(_filled_right(rows[0], len(lower)))
        names = [
            f"{upper} | {name}" if upper else name
            for upper, name in zip(uppers, lower, strict=True)
        ]
    else:
        names = lower
    while names and not names[-1]:
        names = names[:-1]
    unique: dict[str, None] = {}
    for name in names:
        numbered = (f"{name} ({number})" for number in itertools.count(2))
        candidates = itertools.chain((name,), numbered)
        unique[next(one for one in candidates if one not in unique)] = None
    return tuple(unique)


def _filled_right(upper: list[str], width: int) -> Iterable[str]:
    """A merged cell carries its text in its first column only."""
    last = ""
    for name in [*upper, *[""] * (width - len(upper))][:width]:
        last = name or last
        yield last


def _unreadable(what: str, remedy: str) -> UnreadableFile:
    return UnreadableFile(what, remedy=remedy)
