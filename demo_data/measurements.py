"""What the intake laboratory and the contract laboratory find in the true lots."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Final

import numpy as np
from numpy.typing import NDArray

from demo_data.scenario import FIRST_DAY, MASH, STREAMS, Lot, generator, working_day

SHU_PER_MG_KG: Final = 16.0  # rule of thumb of the trade
CAPSAICIN_G_PER_MOL: Final = 305.418
PORTION_G: Final = 0.1
BUFFER_ML: Final = 10.0
DILUTIONS: Final = (1, 10, 20, 50)
COMFORTABLE_READING: Final = 25.0  # µmol/L

SENSOR_REPEATABILITY: Final = 0.05
HASTY_SHARE: Final = 0.05
STRIP_BATCH_DAYS: Final = 35
STRIP_BATCH_SPREAD: Final = 0.008
LOW_STRIP_BATCH: Final = 16  # the one opened on 2026-03-16
LOW_STRIP_FACTOR: Final = 0.92

SECONDS_A_READING: Final = 150
LATE_DAY: Final = date(2026, 11, 17)
NEW_DAY: Final = date(2026, 11, 20)
MORNING: Final = time(6, 40)
LATE_SHIFT: Final = time(17, 5)

CAPSAICIN_SHARE: Final = 0.6  # of capsaicin and dihydrocapsaicin together
SHU_FACTORS: Final = np.array([16.1, 16.1, 9.3])  # capsaicin, dihydro-, nordihydrocapsaicin
CHROMATOGRAPHY_REPEATABILITY: Final = 0.02
REPORT_SPREAD: Final = 0.012
LABORATORY_FACTOR: Final = 1.015
CONTAMINANTS_ALWAYS: Final = date(2026, 1, 1)
LAST_REPORT: Final = date(2026, 11, 19)
SALMONELLA: Final = ("chilli flakes", "Eastlode Mills", 9)  # the ninth lot of that stream
PLANTED_AFLATOXIN: Final = 9.8  # µg/kg
ORDINARY_AFLATOXIN: Final = 3.0  # µg/kg, no other lot above it
ORDINARY_OCHRATOXIN: Final = 11.0  # µg/kg, likewise


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One reading of the rapid sensor, in µmol/L in the cell."""

    run: int
    lot: Lot
    bag: int
    number: int
    measured_at: datetime
    strip_batch: str
    portion_g: float
    dilution: int
    molarity: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LaboratoryRow:
    """What the contract laboratory reports of one lot; None where it was not ordered."""

    lot: Lot
    analysed: date
    capsaicinoids: tuple[float, float, float] | None
    colour: float | None
    aflatoxin: float | None
    ochratoxin: float | None
    salmonella: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Drying:
    """One sample on the moisture balance; local time."""

    lot: Lot
    sample: int
    measured_at: datetime
    portion_g: float
    moisture: float


def sensor_day(lot: Lot) -> date:
    """Day on which the lot was measured with the rapid sensor."""
    if lot.role == "late":
        return LATE_DAY
    if lot.role == "new":
        return NEW_DAY
    return working_day(lot.received, int(generator(5, lot.serial).integers(1, 4)))


def strip_batch(day: date) -> tuple[str, float]:
    """Name of the strip batch in use, and its readings over the truth."""
    index = (day - FIRST_DAY).days // STRIP_BATCH_DAYS
    opened = FIRST_DAY + timedelta(days=index * STRIP_BATCH_DAYS)
    first = (date(opened.year, 1, 1) - FIRST_DAY).days
    number = index - max(0, -(-first // STRIP_BATCH_DAYS)) + 1
    name = f"S{opened:%y}-{number:02d}"
    if index == LOW_STRIP_BATCH:
        return name, LOW_STRIP_FACTOR
    return name, float(np.exp(STRIP_BATCH_SPREAD * generator(6, index).standard_normal()))


def sensor_readings(lots: Sequence[Lot]) -> list[Reading]:
    """Every reading of the rapid sensor, in order of time."""
    found: list[Reading] = []
    clock = datetime.combine(FIRST_DAY, MORNING, UTC)
    for lot in sorted(lots, key=lambda lot: (sensor_day(lot), lot.serial)):
        start = LATE_SHIFT if lot.role == "late" else MORNING
        clock = max(clock, datetime.combine(sensor_day(lot), start, UTC))
        found.extend(_lot_readings(lot, run=len(found) + 1001, clock=clock))
        clock = found[-1].measured_at + timedelta(seconds=2 * SECONDS_A_READING)
    return found


def _lot_readings(lot: Lot, *, run: int, clock: datetime) -> Iterator[Reading]:
    rng = generator(7, lot.serial)
    name, factor = strip_batch(clock.date())
    heats = _sampled_heats(lot, factor, rng)
    for place, ((bag, number), heat) in enumerate(np.ndenumerate(heats)):
        portion = round(PORTION_G * float(rng.uniform(0.985, 1.015)), 4)
        extract = heat / SHU_PER_MG_KG / (BUFFER_ML / portion) / CAPSAICIN_G_PER_MOL * 1000.0
        dilution = _dilution(lot, rng)
        seconds = place * SECONDS_A_READING + int(rng.integers(0, 45))
        yield Reading(
            run=run + place,
            lot=lot,
            bag=bag + 1,
            number=number + 1,
            measured_at=clock + timedelta(seconds=seconds),
            strip_batch=name,
            portion_g=portion,
            dilution=dilution,
            molarity=extract / dilution,
        )


def _sampled_heats(lot: Lot, factor: float, rng: np.random.Generator) -> NDArray[np.float64]:
    """SHU as the sensor sees it, shape (bags, readings).

    A planted lot's deviations are centred, so that its mean tells the story exactly.
    """
    material = lot.stream.material
    bags = int(rng.integers(material.sampled[0], material.sampled[1] + 1))
    readings = int(rng.integers(material.readings[0], material.readings[1] + 1))
    shape = (lot.planted.bags if lot.planted else bags, readings)
    between_bags = lot.stream.bag_spread * rng.standard_normal((shape[0], 1))
    deviation = between_bags + SENSOR_REPEATABILITY * rng.standard_normal(shape) + np.log(factor)
    if lot.planted:
        deviation -= deviation.mean()
    return np.asarray(lot.heat * np.exp(deviation), dtype=np.float64)


def _dilution(lot: Lot, rng: np.random.Generator) -> int:
    material = lot.stream.material
    hasty = rng.random() < HASTY_SHARE
    if hasty and material.hasty_dilution and not lot.waiting:
        return material.hasty_dilution
    usual = lot.stream.center / SHU_PER_MG_KG / (BUFFER_ML / PORTION_G)
    molarity = usual / CAPSAICIN_G_PER_MOL * 1000.0
    return next(d for d in DILUTIONS if molarity / d <= COMFORTABLE_READING)


def dryings(lots: Sequence[Lot]) -> list[Drying]:
    """Two samples a lot on the moisture balance, in order of time; none of oleoresin."""
    found = [drying for lot in lots if lot.moisture for drying in _lot_dryings(lot)]
    return sorted(found, key=lambda drying: (drying.measured_at, drying.lot.serial))


def _lot_dryings(lot: Lot) -> Iterator[Drying]:
    rng = generator(8, lot.serial)
    day = working_day(lot.received, int(rng.integers(0, 3)))
    start = datetime.combine(day, time(7, 30)) + timedelta(minutes=int(rng.integers(0, 420)))
    between = 0.4 if lot.moisture > 50.0 else 0.12
    for sample in (1, 2):
        yield Drying(
            lot=lot,
            sample=sample,
            measured_at=start + timedelta(minutes=(sample - 1) * int(rng.integers(11, 19))),
            portion_g=round(float(rng.uniform(4.9, 5.2)), 2),
            moisture=round(lot.moisture + between * float(rng.standard_normal()), 2),
        )


def laboratory_rows(lots: Sequence[Lot]) -> list[LaboratoryRow]:
    """What the contract laboratory reports, in order of analysis."""
    detected = _salmonella_lot(lots)
    rows = [row for lot in lots if (row := laboratory_row(lot, detected=lot is detected))]
    return sorted(rows, key=lambda row: (row.analysed, row.lot.serial))


def _salmonella_lot(lots: Sequence[Lot]) -> Lot:
    material, supplier, place = SALMONELLA
    stream = next(s for s in STREAMS if (s.material.material, s.supplier) == (material, supplier))
    return [lot for lot in lots if lot.stream is stream][place - 1]


def laboratory_row(lot: Lot, *, detected: bool) -> LaboratoryRow | None:
    """What it reports of one lot; None if nothing was ordered or reported."""
    rng = generator(9, lot.serial)
    profile = _profile_ordered(lot, rng.random())
    ordered = _safety_ordered(lot, rng.random()) or detected
    # No lot is decided on before its safety lines were measured; what was ordered with the profile
    # keeps its draws.
    safety = ordered or bool(lot.moisture and not lot.waiting)
    reported = lot.planted is None or lot.planted.laboratory
    if not reported or not (profile or safety):
        return None
    material = lot.stream.material
    analysed = min(working_day(lot.received, int(rng.integers(4, 9))), LAST_REPORT)
    drawn = rng if ordered else generator(19, lot.serial)
    toxins = _mycotoxins(lot, drawn) if safety and material.dry else (None, None)
    colour = material.colour + material.colour * 0.06 * float(rng.standard_normal())
    return LaboratoryRow(
        lot=lot,
        analysed=analysed,
        capsaicinoids=_capsaicinoids(lot, analysed, rng) if profile else None,
        colour=round(colour, 1) if colour and (profile or ordered) else None,
        aflatoxin=toxins[0],
        ochratoxin=toxins[1],
        salmonella=("detected" if detected else "absent") if safety else None,
    )


def _profile_ordered(lot: Lot, chance: float) -> bool:
    if lot.waiting:
        good = lot.role == "good" and lot.stream.material is not MASH
        return good or (lot.role == "drift" and lot.received.day < 10)
    if lot.role == "drift":
        return chance < 0.5
    if strip_batch(sensor_day(lot))[1] == LOW_STRIP_FACTOR:
        return chance < 0.8
    return chance < (0.6 if not lot.moisture else 0.37)


def _safety_ordered(lot: Lot, chance: float) -> bool:
    if not lot.moisture:
        return False
    return lot.received >= CONTAMINANTS_ALWAYS or chance < 0.4


def _mycotoxins(lot: Lot, rng: np.random.Generator) -> tuple[float, float]:
    """Aflatoxin B1 and ochratoxin A, µg/kg."""
    aflatoxin = _folded(1.0 * float(np.exp(0.6 * rng.standard_normal())), ORDINARY_AFLATOXIN)
    ochratoxin = _folded(2.4 * float(np.exp(0.6 * rng.standard_normal())), ORDINARY_OCHRATOXIN)
    if lot.role == "aflatoxin":
        aflatoxin = PLANTED_AFLATOXIN
    return round(aflatoxin, 2), round(ochratoxin, 2)


def _folded(value: float, highest: float) -> float:
    """The value, mirrored in logs to below `highest` so that no two lots share a ceiling."""
    return value if value <= highest else highest**2 / value


def _capsaicinoids(
    lot: Lot, analysed: date, rng: np.random.Generator
) -> tuple[float, float, float]:
    """Capsaicin, dihydrocapsaicin and nordihydrocapsaicin, µg/g."""
    report = (analysed.year * 12 + analysed.month - 1) // 2
    bias = LABORATORY_FACTOR * np.exp(REPORT_SPREAD * generator(10, report).standard_normal())
    composite = lot.stream.bag_spread / np.sqrt(lot.stream.material.sampled[1])
    heat = lot.heat * bias * np.exp(composite * rng.standard_normal())
    capsaicin = CAPSAICIN_SHARE + 0.03 * rng.standard_normal()
    minor = lot.stream.material.nordihydrocapsaicin
    shares = np.array([capsaicin * (1 - minor), (1 - capsaicin) * (1 - minor), minor])
    total = heat / float(shares @ SHU_FACTORS)
    found = total * shares * np.exp(CHROMATOGRAPHY_REPEATABILITY * rng.standard_normal(3))
    return round(float(found[0]), 1), round(float(found[1]), 1), round(float(found[2]), 1)
