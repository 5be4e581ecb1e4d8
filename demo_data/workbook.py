"""The contract laboratory's workbook, written so that the same content gives the same bytes."""

import io
import re
import zipfile
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any, Final

from openpyxl import Workbook  # type: ignore[import-untyped]

from demo_data.files import LABORATORY_GROUPS, Cell

LABORATORY: Final = "Sedgewater Contract Laboratory"
NOTES: Final = (
    "Results are given on the sample as received.",
    "Capsaicinoids: liquid chromatography with ultraviolet detection, three compounds.",
    "<LOQ: below the limit of quantification, 5 µg/g for each capsaicinoid and 0.5 µg/kg for "
    "each mycotoxin.",
    "Blank: not ordered.",
    "This laboratory and its methods are invented.",
)
WIDTH: Final = 18
SAVED: Final = (2026, 11, 20, 12, 0, 0)
STAMP: Final = re.compile(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*")


def write_workbook(path: Path, rows: Sequence[Sequence[Cell]], *, report: str, day: date) -> None:
    """Write one report: preamble, group titles over merged cells, names with units, results."""
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title = "Results"
    for preamble in ([LABORATORY], ["Report no.", report], ["Date", day]):
        sheet.append(preamble)
    _write_header(sheet)
    for row in rows:
        sheet.append(list(row))
    notes = book.create_sheet("Notes")
    for note in NOTES:
        notes.append([note])
    held = io.BytesIO()
    book.save(held)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(_without_clock(held.getvalue()))


def _write_header(sheet: Any) -> None:
    titles: list[str | None] = []
    names: list[str] = []
    for group, members in LABORATORY_GROUPS.items():
        titles += [group] + [None] * (len(members) - 1)
        names += members
    sheet.append(titles)
    _merge_titles(sheet)
    sheet.append(names)
    for column in sheet.iter_cols(min_row=sheet.max_row):
        sheet.column_dimensions[column[0].column_letter].width = WIDTH


def _merge_titles(sheet: Any) -> None:
    row, first = sheet.max_row, 1
    for members in LABORATORY_GROUPS.values():
        last = first + len(members) - 1
        if last > first:
            sheet.merge_cells(start_row=row, end_row=row, start_column=first, end_column=last)
        first = last + 1


def _without_clock(packed: bytes) -> bytes:
    """The same package with fixed times in place of the time of writing."""
    fixed = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(packed)) as old, zipfile.ZipFile(fixed, "w") as new:
        for name in old.namelist():
            content = STAMP.sub(rb"\g<1>2026-11-20T12:00:00Z", old.read(name))
            member = zipfile.ZipInfo(name, date_time=SAVED)
            new.writestr(member, content, compress_type=zipfile.ZIP_DEFLATED)
    return fixed.getvalue()
