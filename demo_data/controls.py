"""Samples of known value: the jar beside the readers, and a comparison between laboratories."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Final

import numpy as np

from demo_data.measurements import (
    BUFFER_ML,
    CAPSAICIN_G_PER_MOL,
    PORTION_G,
    SENSOR_REPEATABILITY,
    SHU_PER_MG_KG,
    strip_batch,
)
from demo_data.scenario import CALENDAR, FIRST_DAY, generator

JAR: Final = "CS-40"
JAR_SHU: Final = 40_000.0
JAR_DILUTION: Final = 10
LAST_DAY: Final = date(2026, 11, 20)
FIRST_READING: Final = time(6, 5)
READERS: Final = ("Reader A", "Reader B")
HEADER: Final = [
    "Run", "Lot", "Bag", "Reading no", "Measured (UTC)", "Operator", "Device", "Strip batch",
    "Portion g", "Buffer mL", "Cell dilution", "Reading", "Unit", "Remark",
]  # fmt: skip
OPERATORS: Final = ("KB", "TO", "LF")

COMPARED: Final = {"RT-mild": 8_800.0, "RT-warm": 41_500.0, "RT-hot": 186_000.0}
LABORATORIES: Final = 8
REPLICATES: Final = 3
BETWEEN_LABORATORIES: Final = 0.035
WITHIN_LABORATORY: Final = 0.02
COMPARISON_HEADER: Final = ["Laboratory", "Sample", "Test", "Reported", "Heat SHU"]
COMPARISON_DAY: Final = date(2026, 5, 12)


@dataclass(frozen=True, slots=True, kw_only=True)
class JarReading:
    """One reading of the jar on one reader, in µmol/L in the cell."""

    measured_at: datetime
    reader: str
    strip_batch: str
    portion_g: float
    molarity: float


def jar_readings() -> list[JarReading]:
    """The jar is read on both readers on the morning of every working day."""
    days = np.arange(np.datetime64(FIRST_DAY), np.datetime64(LAST_DAY) + 1, dtype="datetime64[D]")
    working = days[np.is_busday(days, busdaycal=CALENDAR)]
    return [reading for day in working for reading in _morning(date.fromisoformat(str(day)))]


def _morning(day: date) -> Iterator[JarReading]:
    batch, factor = strip_batch(day)
    for place, reader in enumerate(READERS):
        rng = generator(20, day.toordinal(), place)
        portion = round(PORTION_G * float(rng.uniform(0.985, 1.015)), 4)
        heat = JAR_SHU * factor * float(np.exp(SENSOR_REPEATABILITY * rng.standard_normal()))
        start = datetime.combine(day, FIRST_READING, UTC)
        yield JarReading(
            measured_at=start + timedelta(seconds=240 * place + int(rng.integers(0, 60))),
            reader=reader,
            strip_batch=batch,
            portion_g=portion,
            molarity=_in_extract(heat, portion) / JAR_DILUTION,
        )


def _in_extract(heat: float, portion: float) -> float:
    """SHU to µmol/L in the extract."""
    return heat / SHU_PER_MG_KG / (BUFFER_ML / portion) / CAPSAICIN_G_PER_MOL * 1000.0


def jar_rows(readings: list[JarReading]) -> list[list[str]]:
    """One export of the readers' control readings."""
    return [HEADER, *(_jar_row(number, one) for number, one in enumerate(readings, start=1))]


def _jar_row(number: int, one: JarReading) -> list[str]:
    operator = str(generator(21, one.measured_at.toordinal()).choice(OPERATORS))
    return [
        f"C{number:03d}",
        JAR,
        "1",
        "1",
        f"{one.measured_at:%Y-%m-%d %H:%M:%S}",
        operator,
        one.reader,
        one.strip_batch,
        f"{one.portion_g:.4f}",
        f"{BUFFER_ML:.1f}",
        str(JAR_DILUTION),
        f"{one.molarity:.2f}",
        "µmol/L",
        "control",
    ]


def comparison_rows() -> list[list[str]]:
    """A comparison between laboratories: one strays on the hot sample, one scatters on the mild."""
    rows = [COMPARISON_HEADER]
    for number in range(1, LABORATORIES + 1):
        own = BETWEEN_LABORATORIES * generator(22, number).standard_normal()
        for place, (sample, heat) in enumerate(COMPARED.items()):
            rng = generator(23, number, place)
            stray = 0.16 if (number, sample) == (6, "RT-hot") else 0.0
            scatter = 4.0 if (number, sample) == (3, "RT-mild") else 1.0
            noise = WITHIN_LABORATORY * scatter * rng.standard_normal(REPLICATES)
            level = 0.008 * rng.standard_normal()
            found = heat * np.exp(own + stray + level + noise)
            rows += [
                [f"Laboratory {number}", sample, str(test), f"{COMPARISON_DAY}", f"{value:.0f}"]
                for test, value in enumerate(found, start=1)
            ]
    return rows
