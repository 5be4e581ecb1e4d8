"""The true world of the demo: who delivers what, when, and what is really in each lot."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final, Literal

import numpy as np

SEED: Final = 20261120
FIRST_DAY: Final = date(2024, 9, 2)
LAST_DECIDED_ARRIVAL: Final = date(2026, 10, 30)
NEW_CROP_MONTH: Final = 9
OLD_CROP_SHARE: Final = {9: 0.25, 10: 0.10}
FIRST_CROP: Final = 2024
HOLIDAYS: Final = [
    date(year, month, day)
    for year in (2024, 2025, 2026)
    for month, day in ((1, 1), (12, 25), (12, 26))
]
CALENDAR: Final = np.busdaycalendar(holidays=np.array(HOLIDAYS, dtype="datetime64[D]"))

Role = Literal["drift", "aflatoxin", "undecided", "late", "new", "good"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """How a material comes and how it is sampled.

    Attributes
    ----------
    moisture, moisture_spread
        Mean and standard deviation between lots, g/100 g; 0 where it has none.
    bags, sampled, readings
        Smallest and largest number of bags in a lot, bags sampled, readings a bag.
    nordihydrocapsaicin
        Share of the capsaicinoids.
    hasty_dilution
        Cell dilution that a hurried operator takes instead of the right one; 0 for none.
    """

    material: str
    moisture: float
    bags: tuple[int, int]
    bag_kg: int
    price: float
    moisture_spread: float = 0.8
    sampled: tuple[int, int] = (5, 6)
    readings: tuple[int, int] = (3, 3)
    colour: float = 0.0
    nordihydrocapsaicin: float = 0.06
    hasty_dilution: int = 0

    @property
    def dry(self) -> bool:
        """Whether it is a powder or flakes."""
        return 0.0 < self.moisture < 50.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Stream:
    """One material from one supplier.

    Attributes
    ----------
    center
        Usual heat, SHU as-is.
    lots
        Deliveries up to the last that was decided on, planted ones not counted.
    spread, season, bag_spread
        Relative standard deviation between lots, between crops, between bags of a lot.
    certificate
        Certificate's heat over the truth.
    """

    material: Material
    supplier: str
    center: float
    lots: int
    spread: float
    season: float = 0.03
    bag_spread: float = 0.05
    certificate: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Planted:
    """A lot that tells a story.

    Attributes
    ----------
    heat
        SHU as-is, or 0 for the stream's usual.
    waiting
        Whether nobody has decided on it yet.
    laboratory
        Whether the contract laboratory has reported.
    """

    role: Role
    received: date
    heat: float = 0.0
    bags: int = 5
    waiting: bool = True
    laboratory: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """One delivery and the truth about it: heat in SHU as-is, moisture in g/100 g."""

    lot: str
    serial: int
    stream: Stream
    received: date
    harvest_year: int
    heat: float
    moisture: float
    planted: Planted | None

    @property
    def role(self) -> Role | None:
        """Story that the lot tells, if any."""
        return self.planted.role if self.planted else None

    @property
    def waiting(self) -> bool:
        """Whether nobody has decided on it yet."""
        return self.planted is not None and self.planted.waiting


HABANERO: Final = Material(
    material="ground habanero", moisture=9.2, bags=(12, 40), bag_kg=25, price=15.2,
    hasty_dilution=10,
)  # fmt: skip
CAYENNE: Final = Material(
    material="cayenne powder", moisture=9.3, bags=(40, 160), bag_kg=25, price=4.7, colour=62.0
)
FLAKES: Final = Material(
    material="chilli flakes", moisture=9.9, bags=(40, 120), bag_kg=20, price=4.1
)
RED_PEPPER: Final = Material(
    material="red pepper powder", moisture=9.4, bags=(60, 200), bag_kg=25, price=3.5, colour=112.0
)
MASH: Final = Material(
    material="jalapeño mash", moisture=88.0, moisture_spread=0.7, bags=(6, 20), bag_kg=200,
    price=1.25, sampled=(3, 4), readings=(2, 3), hasty_dilution=10,
    nordihydrocapsaicin=0.035,
)  # fmt: skip
OLEORESIN: Final = Material(
    material="capsicum oleoresin", moisture=0.0, bags=(4, 10), bag_kg=20, price=42.0,
    sampled=(3, 4), readings=(2, 2), hasty_dilution=20,
)  # fmt: skip

STREAMS: Final = (
    Stream(material=HABANERO, supplier="Glimmerford Farms", center=188_000, lots=24, spread=0.14),
    Stream(material=HABANERO, supplier="Copperfen Peppers", center=166_000, lots=20, spread=0.11),
    Stream(material=HABANERO, supplier="Aldermoss Growers", center=184_000, lots=17, spread=0.15),
    Stream(material=CAYENNE, supplier="North Fen Spices", center=37_500, lots=24, spread=0.10,
           season=0.0),
    Stream(material=CAYENNE, supplier="Brindlemoor Trading", center=41_000, lots=30, spread=0.14,
           certificate=1.09),
    Stream(material=CAYENNE, supplier="Aldermoss Growers", center=43_000, lots=24, spread=0.11),
    Stream(material=CAYENNE, supplier="Eastlode Mills", center=40_000, lots=21, spread=0.15),
    Stream(material=FLAKES, supplier="Brindlemoor Trading", center=30_000, lots=27, spread=0.16,
           certificate=1.09),
    Stream(material=FLAKES, supplier="Dunmarsh Ingredients", center=31_000, lots=22, spread=0.13,
           bag_spread=0.18),
    Stream(material=FLAKES, supplier="North Fen Spices", center=28_500, lots=20, spread=0.14,
           bag_spread=0.06),
    Stream(material=FLAKES, supplier="Eastlode Mills", center=29_500, lots=20, spread=0.13,
           bag_spread=0.06),
    Stream(material=RED_PEPPER, supplier="Eastlode Mills", center=9_300, lots=25, spread=0.16),
    Stream(material=RED_PEPPER, supplier="Farrowmere Cooperative", center=8_800, lots=28,
           spread=0.13, certificate=1.01),
    Stream(material=RED_PEPPER, supplier="Dunmarsh Ingredients", center=9_600, lots=16,
           spread=0.18),
    Stream(material=MASH, supplier="Glimmerford Farms", center=2_300, lots=19, spread=0.14),
    Stream(material=MASH, supplier="Farrowmere Cooperative", center=2_150, lots=17, spread=0.16),
    Stream(material=OLEORESIN, supplier="Hollin Reach Extracts", center=525_000, lots=18,
           spread=0.09, bag_spread=0.04),
    Stream(material=OLEORESIN, supplier="Copperfen Peppers", center=510_000, lots=6, spread=0.10,
           bag_spread=0.04),
)  # fmt: skip

DRIFT_STEP: Final = 1.04
DRIFT_SPREAD: Final = 0.015
PLANTED_SPREAD: Final = 0.04
DRIFT_ARRIVALS: Final = (
    date(2026, 9, 3), date(2026, 9, 10), date(2026, 9, 18), date(2026, 9, 28), date(2026, 10, 7),
    date(2026, 10, 15), date(2026, 10, 26), date(2026, 11, 3), date(2026, 11, 10),
)  # fmt: skip
DRIFT_WAITING: Final = 2

LOWER_HABANERO_DRY: Final = 150_000.0  # as in catalogue.toml
UNDECIDED_HEAT: Final = 1.02 * LOWER_HABANERO_DRY * (1.0 - HABANERO.moisture / 100.0)

WAITING: Final = {
    ("chilli flakes", "Eastlode Mills"): Planted(role="aflatoxin", received=date(2026, 11, 4)),
    ("ground habanero", "Copperfen Peppers"): Planted(
        role="undecided", received=date(2026, 11, 5), heat=UNDECIDED_HEAT
    ),
    ("cayenne powder", "Aldermoss Growers"): Planted(
        role="late", received=date(2026, 11, 9), bags=4
    ),
    ("red pepper powder", "Farrowmere Cooperative"): Planted(
        role="late", received=date(2026, 11, 6), bags=4
    ),
    ("chilli flakes", "Brindlemoor Trading"): Planted(
        role="late", received=date(2026, 11, 12), bags=4, laboratory=False
    ),
    ("cayenne powder", "Eastlode Mills"): Planted(role="new", received=date(2026, 11, 6)),
    ("ground habanero", "Aldermoss Growers"): Planted(role="new", received=date(2026, 11, 9)),
    ("chilli flakes", "North Fen Spices"): Planted(
        role="new", received=date(2026, 11, 16), laboratory=False
    ),
    ("red pepper powder", "Eastlode Mills"): Planted(role="good", received=date(2026, 11, 2)),
    ("jalapeño mash", "Farrowmere Cooperative"): Planted(
        role="good", received=date(2026, 11, 5), bags=4
    ),
    ("capsicum oleoresin", "Hollin Reach Extracts"): Planted(
        role="good", received=date(2026, 11, 3), bags=4
    ),
    ("ground habanero", "Glimmerford Farms"): Planted(
        role="good", received=date(2026, 11, 13), laboratory=False
    ),
}


def generator(*words: int) -> np.random.Generator:
    """A stream of random numbers of its own for each thing that is numbered."""
    return np.random.default_rng([SEED, *words])


def working_day(day: date, later: int) -> date:
    """The working day that comes `later` working days after `day`."""
    found = np.busday_offset(np.datetime64(day), later, roll="forward", busdaycal=CALENDAR)
    return date.fromisoformat(str(found))


def lots() -> list[Lot]:
    """Every lot in order of receipt, numbered by year."""
    arrivals = sorted(
        (arrival for index in range(len(STREAMS)) for arrival in _arrivals(index)),
        key=lambda arrival: (arrival[1], arrival[0]),
    )
    running: dict[int, int] = {}
    found = []
    for serial, (index, received, planted) in enumerate(arrivals):
        running[received.year] = running.get(received.year, 0) + 1
        number = f"R{received:%y}-{running[received.year]:04d}"
        found.append(_lot(number, serial, index, received, planted))
    return found


def _arrivals(index: int) -> Iterator[tuple[int, date, Planted | None]]:
    stream = STREAMS[index]
    drifting = stream is _drifting()
    until = DRIFT_ARRIVALS[0] if drifting else LAST_DECIDED_ARRIVAL
    for day in _days(stream.lots, until, generator(1, index)):
        yield index, day, None
    if drifting:
        for planted in _drift(stream, generator(2, index)):
            yield index, planted.received, planted
    waiting = WAITING.get((stream.material.material, stream.supplier))
    if waiting:
        yield index, waiting.received, waiting


def _drifting() -> Stream:
    return next(s for s in STREAMS if s.material is CAYENNE and s.supplier == "North Fen Spices")


def _drift(stream: Stream, rng: np.random.Generator) -> Iterator[Planted]:
    for step, received in enumerate(DRIFT_ARRIVALS, start=1):
        heat = (
            stream.center * DRIFT_STEP**step * float(np.exp(DRIFT_SPREAD * rng.standard_normal()))
        )
        waiting = step > len(DRIFT_ARRIVALS) - DRIFT_WAITING
        yield Planted(role="drift", received=received, heat=heat, waiting=waiting)


def _days(count: int, until: date, rng: np.random.Generator) -> list[date]:
    """Working days, denser after harvest and thinner in summer."""
    days = np.arange(np.datetime64(FIRST_DAY), np.datetime64(until), dtype="datetime64[D]")
    days = days[np.is_busday(days, busdaycal=CALENDAR)]
    month = days.astype("datetime64[M]").astype(np.int64) % 12 + 1
    weight = np.where(month >= NEW_CROP_MONTH, 1.5, np.where(month >= 6, 0.6, 1.0))
    share = np.cumsum(weight) / weight.sum()
    places = np.searchsorted(share, (np.arange(count) + rng.random(count)) / count)
    return [date.fromisoformat(str(day)) for day in days[places]]


def _lot(number: str, serial: int, index: int, received: date, planted: Planted | None) -> Lot:
    rng = generator(3, serial)
    stream = STREAMS[index]
    harvest_year = _harvest_year(received, rng) if planted is None else received.year
    shift = stream.season * generator(4, index, harvest_year).standard_normal()
    usual = stream.center * float(np.exp(shift + stream.spread * rng.standard_normal()))
    plain = stream.center * float(np.exp(PLANTED_SPREAD * rng.standard_normal()))
    moisture = stream.material.moisture
    if planted is None and moisture:
        moisture += stream.material.moisture_spread * float(rng.standard_normal())
    return Lot(
        lot=number,
        serial=serial,
        stream=stream,
        received=received,
        harvest_year=harvest_year,
        heat=usual if planted is None else planted.heat or plain,
        moisture=moisture,
        planted=planted,
    )


def _harvest_year(received: date, rng: np.random.Generator) -> int:
    if received.month < NEW_CROP_MONTH:
        return received.year - 1
    old = rng.random() < OLD_CROP_SHARE.get(received.month, 0.0)
    return max(received.year - int(old), FIRST_CROP)
