"""Messy files that cannot be browsed as text: workbooks, and a table with types."""

import io
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any, Final

import openpyxl  # type: ignore[import-untyped]
import pyarrow as pa
import pyarrow.parquet as pq


def _saved(book: Any) -> bytes:
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def results_on_the_second_sheet() -> bytes:
    """A hidden sheet first, a title, formulas, dates typed and written, a link, a hidden row."""
    book = openpyxl.Workbook()
    notes = book.active
    notes.title, notes.sheet_state = "Old", "hidden"
    notes.append(["Lot", "Bag", "Measured", "Moisture %"])
    notes.append(["L-1", 9, "01.03.2026 08:00", 55.0])
    sheet = book.create_sheet("Results")
    noon = datetime(2026, 3, 4, 12)  # noqa: DTZ001 - a workbook's dates have no zone
    for row in (
        ["Moisture book"],
        ["printed on the last day of the week"],
        ["Lot", "Bag", "Measured", "Moisture %", "Checked"],
        ["L-1", 1, noon, 9.8, True],
        ["L-1", 2, "04.03.2026 12:05", "9.9", None],
        ["L-2", 1, "2026-03-04T12:10:00+01:00", 10.4, None],
        ["L-2", 2, noon, "=D6+0.1", None],
        [42, 1, noon, 9.7, None],
        [100000.0, 1, noon, 9.6, None],
        ["L-2", 3, 46085, 9.9, None],
        ["L-2", 4, noon, "#N/A", None],
        ["L-1", 3, datetime(2026, 3, 29, 2, 30), 9.9, None],  # noqa: DTZ001
        ["Mean", None, None, "=AVERAGE(D4:D12)", None],
    ):
        sheet.append(row)
    sheet["A4"].hyperlink = "mailto:mill"
    sheet["D4"].number_format = "0"
    sheet.row_dimensions[5].hidden = True
    return _saved(book)


def merged_headers() -> bytes:
    """Two rows of merged headers and a row of units; a merged lot, and a column left of all."""
    book = openpyxl.Workbook()
    sheet = book.active
    for row in (
        ["Lot", "Analysed", "Capsaicinoids", None, "Toxins", None],
        [None, None, "C", "DHC", "AFB1", "OTA"],
        [None, None, "µg/g", "µg/g", "µg/kg", "µg/kg"],
        ["L-1", "04.03.2026", 1650, 900, 0.7, None],
        [None, "05.03.2026", 1640, 905, 0.6, None],
        ["L-2", "04.03.2026", "1.650", None, "<0.5", None],
        ["0042", "04.03.2026", None, None, "< LOQ", 1.2],
        ["100000", "04.03.2026", "1650 ", "<5", None, None],
    ):
        sheet.append(row)
    for cells in ("A1:A2", "B1:B2", "C1:D1", "E1:F1", "A4:A5"):
        sheet.merge_cells(cells)
    return _saved(book)


def typed_table() -> bytes:
    """Moments with a zone, decimals, and texts kept once."""
    at = [datetime(2025, 10, 26, hour, 30, tzinfo=UTC) for hour in (0, 1)]
    table = pa.table(
        {
            "lot_no": pa.array(["L-1", "L-1", "L-2", "L-9", None]).dictionary_encode(),
            "bag_no": pa.array([1, 1, 2, 1, 1], pa.int16()),
            "measured_ts": pa.array([*at, at[0], at[0], None], pa.timestamp("ms", "UTC")),
            "portion_g": pa.array([Decimal("0.1000")] * 4 + [None], pa.decimal128(8, 4)),
            "buffer_ml": pa.array([10.0] * 5),
            "cell": pa.array([10] * 5, pa.int64()),
            "reading": pa.array([17.5, 18.25, float("nan"), 17.0, 17.0], pa.float64()),
            "unit": pa.array(["µmol/L"] * 5).dictionary_encode(),
        }
    )
    out = io.BytesIO()
    pq.write_table(table, out, row_group_size=2)
    return out.getvalue()


def very_long_cell() -> bytes:
    """A remark of fifty thousand signs beside a reading."""
    return (
        "Lot,Bag,No,Measured,Portion g,Buffer mL,Cell,Reading,Unit,Remark\n"
        f"L-1,1,1,2026-03-04 10:00:00,0.1,10,10,17.5,µmol/L,{'as before ' * 5_000}\n"
    ).encode()


def endless_cell() -> bytes:
    """A remark that is longer than any cell."""
    return very_long_cell().replace(b"as before", b"as before, and before")


BUILT: Final[Mapping[str, Callable[[], bytes]]] = {
    "38_results_on_the_second_sheet.xlsx": results_on_the_second_sheet,
    "39_merged_headers.xlsx": merged_headers,
    "40_typed_table.parquet": typed_table,
    "41_very_long_cell.csv": very_long_cell,
    "90_endless_cell.csv": endless_cell,
}
