"""Bytes of a file to a table of texts; nothing is interpreted here but the layout."""

import csv
import io
import zipfile
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

import pandas as pd
from python_calamine import CalamineError, CalamineWorkbook

from spc.errors import UnreadableFile
from spc.intake.profile import FileForm

LARGEST_MB: Final = 200
LARGEST_UNPACKED_MB: Final = 1000


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
        book = CalamineWorkbook.from_filelike(io.BytesIO(content))
    except CalamineError as problem:
        raise _unreadable(
            f"it is not a workbook ({problem}).", "Open it, save it as .xlsx and receive that."
        ) from problem
    name = form.sheet or book.sheet_names[0]
    if name not in book.sheet_names:
        raise _unreadable(
            f"there is no sheet {name!r}; it has {', '.join(book.sheet_names)}.",
            "Correct the sheet's name in the source profile.",
        )
    cells = book.get_sheet_by_name(name).to_python(skip_empty_area=False)
    return [(number, [_text(cell) for cell in row]) for number, row in enumerate(cells, start=1)]


def _refuse_bomb(content: bytes) -> None:
    """A workbook is a zip archive; one that unpacks beyond reason is not opened."""
    try:
        sizes = [entry.file_size for entry in zipfile.ZipFile(io.BytesIO(content)).infolist()]
    except zipfile.BadZipFile as problem:
        raise _unreadable(
            "it is not a workbook.", "Open it, save it as .xlsx and receive that."
        ) from problem
    if sum(sizes) > LARGEST_UNPACKED_MB * 1_000_000:
        raise _unreadable("it unpacks to an unreasonable size.", "Ask its source for a plain file.")


def _text(cell: object) -> str:
    """A cell as a person would have typed it; whole numbers lose their '.0'."""
    if isinstance(cell, bool):
        return str(cell)
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
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
    seen: dict[str, int] = {}
    unique = []
    for name in names:
        seen[name] = seen.get(name, 0) + 1
        unique.append(name if seen[name] == 1 else f"{name} ({seen[name]})")
    return tuple(unique)


def _filled_right(upper: list[str], width: int) -> Iterable[str]:
    """A merged cell carries its text in its first column only."""
    last = ""
    for name in [*upper, *[""] * (width - len(upper))][:width]:
        last = name or last
        yield last


def _unreadable(what: str, remedy: str) -> UnreadableFile:
    return UnreadableFile(what, remedy=remedy)
