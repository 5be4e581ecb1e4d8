"""How the laboratories write what they found: delimited files and the workbook's cells."""

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path
from typing import Final

from demo_data.decisions import Decision
from demo_data.measurements import BUFFER_ML, Drying, LaboratoryRow, Reading
from demo_data.mess import Row, messy
from demo_data.scenario import generator

SENSOR_HEADER: Final = [
    "Run", "Lot", "Bag", "Reading no", "Measured (UTC)", "Operator", "Device", "Strip batch",
    "Portion g", "Buffer mL", "Cell dilution", "Reading", "Unit", "Remark",
]  # fmt: skip
SENSOR_FOOTER: Final = "\n\n# end of export\n"
OPERATORS: Final = ("KB", "TO", "LF")
DEVICES: Final = {"Reader A": "µmol/L", "Reader B": "umol/L"}
REMARKS: Final = ("second strip", "coarse, milled again", "bag damp", "bubble, strip changed")
REMARK_SHARE: Final = 0.015
LOWEST: Final = 0.5  # µmol/L, calibrated range
HIGHEST: Final = 35.0
WRITTEN_AS_NUMBER: Final = 38.0  # a little above the range the reader still shows a number

MOISTURE_PREAMBLE: Final = "Gerät;Feuchtewaage 2\r\nStandort;Wareneingang Süd\r\n"
MOISTURE_HEADER: Final = [
    "Charge", "Probe", "Datum", "Uhrzeit", "Gerät", "Einwaage g", "Feuchte %", "Bediener",
]  # fmt: skip

DECISION_HEADER: Final = [
    "Lot", "Decision", "Decided", "By", "Role", "Reason", "Second person",
]  # fmt: skip

LABORATORY_GROUPS: Final = {
    "Sample": ("Your lot", "Our ref", "Analysed"),
    "Capsaicinoids": ("Capsaicin µg/g", "Dihydrocapsaicin µg/g", "Nordihydrocapsaicin µg/g"),
    "Quality": ("Colour ASTA units",),
    "Contaminants": ("Aflatoxin B1 µg/kg", "Ochratoxin A µg/kg", "Salmonella in 25 g"),
}
CAPSAICINOID_LOQ: Final = 5.0  # µg/g
MYCOTOXIN_LOQ: Final = 0.5  # µg/kg

Cell = str | float | date | None


def delimited(rows: Iterable[Sequence[str]], *, delimiter: str = ",", end: str = "\n") -> str:
    """The rows as text, quoted only where needed."""
    text = io.StringIO()
    csv.writer(text, delimiter=delimiter, lineterminator=end).writerows(rows)
    return text.getvalue()


def write(path: Path, text: str, *, encoding: str = "utf-8") -> None:
    """Write a file byte for byte, with the folder that it needs."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text.encode(encoding))


def sensor_file(readings: Sequence[Reading], name: str) -> str:
    """One export of the rapid sensor, with the mess planned for it."""
    rows = messy([_sensor_row(reading) for reading in readings], name)
    return delimited([SENSOR_HEADER, *rows]) + SENSOR_FOOTER


def _sensor_row(reading: Reading) -> Row:
    session = generator(14, reading.lot.serial)
    device = str(session.choice(list(DEVICES)))
    operator = str(session.choice(OPERATORS))
    late = reading.lot.role == "late"  # set-up left at 1 g in 1 mL
    return [
        str(reading.run),
        reading.lot.lot,
        str(reading.bag),
        str(reading.number),
        f"{reading.measured_at:%Y-%m-%d %H:%M:%S}",
        operator,
        device,
        reading.strip_batch,
        "1.000" if late else f"{reading.portion_g:.4f}",
        "1.0" if late else f"{BUFFER_ML:.1f}",
        str(reading.dilution),
        _molarity(reading.molarity),
        _unit(device, operator),
        _remark(reading),
    ]


def _molarity(molarity: float) -> str:
    if molarity < LOWEST:
        return f"<{LOWEST}"
    if molarity >= WRITTEN_AS_NUMBER:
        return f">{HIGHEST:.0f}"
    return f"{molarity:.2f}"


def _unit(device: str, operator: str) -> str:
    """Reader B cannot write the micro sign, and one operator shortens it."""
    return "uM" if device == "Reader B" and operator == "LF" else DEVICES[device]


def _remark(reading: Reading) -> str:
    rng = generator(15, reading.run)
    if reading.molarity < LOWEST:
        return "too thin"
    return str(rng.choice(REMARKS)) if rng.random() < REMARK_SHARE else ""


def moisture_file(dryings: Sequence[Drying]) -> str:
    """One export of the moisture balance."""
    rows = [_moisture_row(drying) for drying in dryings]
    return MOISTURE_PREAMBLE + delimited([MOISTURE_HEADER, *rows], delimiter=";", end="\r\n")


def _moisture_row(drying: Drying) -> Row:
    operator = str(generator(16, drying.lot.serial).choice(OPERATORS))
    return [
        drying.lot.lot,
        str(drying.sample),
        f"{drying.measured_at:%d.%m.%Y}",
        f"{drying.measured_at:%H:%M}",
        "FW 2",
        f"{drying.portion_g:.2f}".replace(".", ","),
        f"{drying.moisture:.2f}".replace(".", ","),
        operator,
    ]


def decisions_file(decisions: Sequence[Decision]) -> str:
    """The old spreadsheet of decisions."""
    rows = [
        [d.lot.lot, d.decision, d.decided.isoformat(), d.by, d.role, d.reason, d.second_person]
        for d in decisions
    ]
    return delimited([DECISION_HEADER, *rows])


def laboratory_cells(row: LaboratoryRow, reference: str) -> list[Cell]:
    """One row of the contract laboratory's workbook."""
    lot = row.lot
    profile: list[Cell] = [None, None, None]
    if row.capsaicinoids:
        profile = [_quantified(v, CAPSAICINOID_LOQ, lot.serial) for v in row.capsaicinoids]
    return [
        lot.lot,
        reference,
        row.analysed,
        *profile,
        row.colour,
        _quantified(row.aflatoxin, MYCOTOXIN_LOQ, lot.serial),
        _quantified(row.ochratoxin, MYCOTOXIN_LOQ, lot.serial // 2),
        row.salmonella,
    ]


def _quantified(value: float | None, limit: float, serial: int) -> Cell:
    """The value, or its limit in one of the two ways the laboratory writes it."""
    if value is None or value >= limit:
        return value
    return "<LOQ" if serial % 2 else f"<{limit:g}"
