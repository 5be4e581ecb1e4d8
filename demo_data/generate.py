"""Write the demo's raw files: `python -m demo_data.generate [FOLDER]`.

The same files come out every time, byte for byte.
"""

import sys
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from itertools import groupby
from pathlib import Path
from typing import Final, TypeVar

from demo_data.blended import blend_analyses, blend_decisions, blend_readings, blend_stock, blended
from demo_data.certificates import HEADER, certificate_files
from demo_data.controls import COMPARISON_DAY, comparison_rows, jar_readings, jar_rows
from demo_data.decisions import decisions
from demo_data.files import (
    decisions_file,
    delimited,
    laboratory_cells,
    moisture_file,
    sensor_file,
    write,
)
from demo_data.measurements import (
    LAST_REPORT,
    Drying,
    LaboratoryRow,
    Reading,
    dryings,
    laboratory_rows,
    sensor_readings,
)
from demo_data.scenario import Lot, lots
from demo_data.stock import stock_rows
from demo_data.workbook import write_workbook

HERE: Final = Path(__file__).parent
RESULTS: Final = "files/2_results"
BLENDS: Final = "blends"
FIRST_REFERENCE: Final = 211

T = TypeVar("T")


def generate(folder: Path) -> None:
    """Write every raw file of the demo below `folder`."""
    delivered = lots()
    readings, samples = sensor_readings(delivered), dryings(delivered)
    analyses = laboratory_rows(delivered)
    for name, rows in certificate_files(delivered).items():
        write(folder / "files/1_certificates" / name, delimited(rows), encoding="utf-8-sig")
    _write_sensor(folder, readings)
    _write_moisture(folder / RESULTS, samples)
    _write_laboratory(folder / RESULTS, analyses)
    _write_controls(folder / RESULTS)
    decided = decisions(delivered, readings, samples, analyses)
    write(folder / "files/3_decisions/decisions.csv", decisions_file(decided))
    bags = {row[0]: int(row[HEADER.index("Bags")]) for row in _register(delivered)}
    write(folder / "stock_take.csv", delimited(stock_rows(decided, bags)))
    _write_blends(folder / BLENDS, blended(delivered), analyses)


def _write_blends(folder: Path, made: Sequence[Lot], parents: Sequence[LaboratoryRow]) -> None:
    """What was found of the blends of the book; the book itself is written by hand."""
    analyses = blend_analyses(made, parents)
    references = range(FIRST_REFERENCE + len(parents), FIRST_REFERENCE + len(parents) + len(made))
    write_workbook(
        folder / "made_laboratory.xlsx",
        [laboratory_cells(row, f"SW-{n}") for row, n in zip(analyses, references, strict=True)],
        report="SW 2026/B1",
        day=max(row.analysed for row in analyses),
    )
    write(folder / "made_sensor.csv", sensor_file(blend_readings(made), BLENDS))
    write(folder / "made_moisture.csv", moisture_file(dryings(made)), encoding="cp1252")
    write(folder / "made_decisions.csv", decisions_file(blend_decisions(analyses)))
    write(folder / "stock_take.csv", delimited(blend_stock(made)))


def _register(delivered: Sequence[Lot]) -> Iterable[Sequence[str]]:
    """Every row of the delivery register, without headers."""
    return (row for rows in certificate_files(delivered).values() for row in rows[1:])


def _write_sensor(folder: Path, readings: Iterable[Reading]) -> None:
    for name, found in _grouped(readings, _sensor_name):
        place = "new" if found[0].lot.role == "new" else RESULTS
        late = "_late" if found[0].lot.role == "late" else ""
        write(folder / place / f"{name}_sensor{late}.csv", sensor_file(found, name))


def _sensor_name(reading: Reading) -> str:
    """A file a month, but the late shift and the newest day have their own."""
    own = reading.lot.role in {"late", "new"}
    return f"{reading.measured_at:{'%Y-%m-%d' if own else '%Y-%m'}}"


def _write_moisture(folder: Path, samples: Iterable[Drying]) -> None:
    for name, found in _grouped(samples, _quarter):
        write(folder / f"{name}_moisture.csv", moisture_file(found), encoding="cp1252")


def _quarter(drying: Drying) -> str:
    day = drying.measured_at
    return f"{day.year}-Q{(day.month + 2) // 3}"


def _write_laboratory(folder: Path, analyses: Iterable[LaboratoryRow]) -> None:
    reference = FIRST_REFERENCE
    for number, (name, rows) in enumerate(_grouped(analyses, _report), start=1):
        cells = [laboratory_cells(row, f"SW-{reference + place}") for place, row in enumerate(rows)]
        reference += len(rows)
        write_workbook(
            folder / f"{name}_laboratory.xlsx",
            cells,
            report=f"SW {name[:4]}/{number:02d}",
            day=max(row.analysed for row in rows),
        )


def _report(row: LaboratoryRow) -> str:
    """Reports close with even months, the last one with what there is."""
    month = row.analysed.month + row.analysed.month % 2
    return f"{min(date(row.analysed.year, month, 1), LAST_REPORT):%Y-%m}"


def _write_controls(folder: Path) -> None:
    for name, found in _grouped(jar_readings(), lambda one: f"{one.measured_at:%Y-%m}"):
        write(folder / f"{name}_control.csv", delimited(jar_rows(list(found))))
    name = f"{COMPARISON_DAY:%Y-%m}_comparison.csv"
    write(folder / name, delimited(comparison_rows(), delimiter=";"))


def _grouped(things: Iterable[T], name: Callable[[T], str]) -> Iterable[tuple[str, Sequence[T]]]:
    ordered = sorted(things, key=name)  # keeps the order of time within a file
    return ((key, list(found)) for key, found in groupby(ordered, key=name))


if __name__ == "__main__":
    generate(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
