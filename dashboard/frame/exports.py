"""Tables as files to open elsewhere: CSV and XLSX in which no cell can start a formula.

The rule: a text that a spreadsheet would take for a formula, or that could smuggle one in, is a
text.  In CSV, where a cell has no type, it gets an apostrophe in front; in XLSX it is stored as a
text and marked as one, so that it stays a text when someone edits the cell.  Column names are
treated alike.  Numbers stay numbers, dates stay dates, truth values stay truth values, and what is
missing is an empty cell; a moment at midnight is a date.
"""

import io
import math
import re
import zipfile
from collections.abc import Mapping
from datetime import date, datetime, time
from typing import Any, Final

import numpy as np
import pandas as pd
from openpyxl import Workbook  # type: ignore[import-untyped]
from openpyxl.styles import Alignment, Font  # type: ignore[import-untyped]

CSV_TYPE: Final = "text/csv"
XLSX_TYPE: Final = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

# What begins a formula in one spreadsheet or another, its wide forms included, after blanks that
# some of them drop; or moves what follows to a place where it begins a cell.
_BEGINS_A_FORMULA: Final = re.compile(r"\s*[=+\-@\uff1d\uff0b\uff0d\uff20]|[\t\r\n]")
_NO_TEXT: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f]")
_MOST_OF_A_TEXT: Final = 32_767
_MOST_OF_A_NAME: Final = 31
_NOT_IN_A_NAME: Final = re.compile(r"[\\/*?:\[\]]")
_NARROWEST: Final = 8
_WIDEST: Final = 60
_DATE: Final = "yyyy-mm-dd"
_MOMENT: Final = "yyyy-mm-dd hh:mm:ss"
# A package tells when it was written; the same table is to give the same bytes.
_STAMP: Final = re.compile(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*")
_NEVER: Final = (1980, 1, 1, 0, 0, 0)


def csv_bytes(frame: pd.DataFrame) -> bytes:
    """A table as CSV.

    Parameters
    ----------
    frame
        What is shown; its index is left out.

    Returns
    -------
    bytes
        UTF-8 with the mark that spreadsheets know it by, commas, lines ended as RFC 4180 asks,
        dates in ISO form.
    """
    safe = pd.DataFrame(
        {
            place: [_of_csv(cell) for cell in frame.iloc[:, place]]
            for place in range(frame.shape[1])
        },
        dtype=object,
    )
    safe.columns = pd.Index([_guarded(str(name)) for name in frame.columns])
    return safe.to_csv(index=False, lineterminator="\r\n").encode("utf-8-sig")


def xlsx_bytes(sheets: Mapping[str, pd.DataFrame]) -> bytes:
    """Tables as one workbook.

    Parameters
    ----------
    sheets
        Name to table, one at least; indices are left out.

    Returns
    -------
    bytes
        The same for the same tables.  Heads stay in sight, columns are as wide as what they hold.
    """
    book = Workbook()
    book.remove(book.active)
    for name, frame in sheets.items():
        _write(book.create_sheet(_sheet_name(name)), frame)
    held = io.BytesIO()
    book.save(held)
    return _without_clock(held.getvalue())


def _of_csv(cell: Any) -> Any:
    plain = _plain(cell)
    return _guarded(plain) if isinstance(plain, str) else plain


def _guarded(text: str) -> str:
    return f"'{text}" if _BEGINS_A_FORMULA.match(text) else text


def _plain(cell: Any) -> Any:
    """A cell as a plain number, date, truth value or text; None where it is missing."""
    if isinstance(cell, (list, tuple, dict, set, np.ndarray)):
        return str(cell)
    if cell is None or pd.isna(cell):
        return None
    if isinstance(cell, np.generic):
        cell = cell.item()
    if isinstance(cell, pd.Timestamp):
        cell = cell.to_pydatetime(warn=False)
    if isinstance(cell, datetime) and cell.time() == time():
        return cell.date()
    if isinstance(cell, float) and math.isinf(cell):
        return "∞" if cell > 0.0 else "−∞"
    return cell if isinstance(cell, (bool, int, float, date, time)) else str(cell)


def _write(sheet: Any, frame: pd.DataFrame) -> None:
    for place, name in enumerate(frame.columns, 1):
        _fill(sheet.cell(1, place), str(name)).font = Font(bold=True)
        sheet.cell(1, place).alignment = Alignment(vertical="top", wrap_text=True)
        widest = 0
        for row, cell in enumerate(frame.iloc[:, place - 1], 2):
            filled = _fill(sheet.cell(row, place), _plain(cell))
            widest = max(widest, _width(filled))
        wanted = max(widest, *(len(word) for word in str(name).split(" "))) + 2
        letter = sheet.cell(1, place).column_letter
        sheet.column_dimensions[letter].width = min(max(wanted, _NARROWEST), _WIDEST)
    sheet.freeze_panes = "A2"


def _fill(cell: Any, value: Any) -> Any:
    if isinstance(value, str):
        cell.value = _NO_TEXT.sub("\N{REPLACEMENT CHARACTER}", value)[:_MOST_OF_A_TEXT]
        # Else a text that begins like a formula would become one.
        cell.data_type = "s"
        cell.quotePrefix = bool(_BEGINS_A_FORMULA.match(value))
        return cell
    cell.value = value
    if isinstance(value, datetime):
        cell.number_format = _MOMENT
    elif isinstance(value, date):
        cell.number_format = _DATE
    return cell


def _width(cell: Any) -> int:
    if isinstance(cell.value, float):
        return len(f"{cell.value:.6g}")
    if isinstance(cell.value, date):
        return len(cell.number_format)
    return max((len(line) for line in str(cell.value or "").split("\n")), default=0)


def _sheet_name(name: str) -> str:
    return _NOT_IN_A_NAME.sub(" ", name)[:_MOST_OF_A_NAME]


def _without_clock(packed: bytes) -> bytes:
    fixed = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(packed)) as old, zipfile.ZipFile(fixed, "w") as new:
        for name in old.namelist():
            content = _STAMP.sub(rb"\g<1>1980-01-01T00:00:00Z", old.read(name))
            member = zipfile.ZipInfo(name, date_time=_NEVER)
            new.writestr(member, content, compress_type=zipfile.ZIP_DEFLATED)
    return fixed.getvalue()
