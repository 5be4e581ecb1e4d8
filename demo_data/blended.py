"""The blends that were made, and what the laboratories found in them."""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any, Final

from demo_data.decisions import OFFICERS, Decision
from demo_data.measurements import LaboratoryRow, Reading, laboratory_row, sensor_readings
from demo_data.scenario import Lot, Stream, working_day

BOOK: Final = Path(__file__).parent / "blends" / "book.toml"
OWN: Final = "own blend"
# Dust and what stays in the mixer take some heat along: no blend is as hot as its lots promise.
LEFT: Final = 0.97
EVEN: Final = 0.03  # relative standard deviation between bags of a blend
FIRST_SERIAL: Final = 9001
FIRST_RUN: Final = 9001
AFTERNOON: Final = timedelta(hours=7)
STOCK_HEADER: Final = ("lot", "bags", "bag_kg", "opened_kg")
LEFT_BAGS: Final = {"B26-0003": 12}  # the others went into sauce


def blended(lots: Sequence[Lot]) -> list[Lot]:
    """Every blend of the book as the lot that it became, oldest first."""
    known = {lot.lot: lot for lot in lots}
    return [
        _lot(made, known, serial=FIRST_SERIAL + place)
        for place, made in enumerate(_book().values())
    ]


def blend_readings(made: Sequence[Lot]) -> list[Reading]:
    """What the rapid sensor read of blends, after the day's deliveries."""
    return [
        replace(one, run=FIRST_RUN + place, measured_at=one.measured_at + AFTERNOON)
        for place, one in enumerate(sensor_readings(made))
    ]


def blend_analyses(made: Sequence[Lot], parents: Sequence[LaboratoryRow]) -> list[LaboratoryRow]:
    """What the contract laboratory reports of blends; colour and mycotoxins are those mixed."""
    known = {row.lot.lot: row for row in parents}
    reported = [row for lot in made if (row := laboratory_row(lot, detected=False))]
    return [_mixed_row(row, known) for row in reported]


def blend_decisions(analyses: Sequence[LaboratoryRow]) -> list[Decision]:
    """Blends are accepted once the contract laboratory has reported."""
    return [
        Decision(
            lot=row.lot,
            decision="accepted",
            decided=working_day(row.analysed, 1),
            by=OFFICERS[row.lot.serial % 2][0],
            role=OFFICERS[row.lot.serial % 2][1],
            reason="came out within specification",
        )
        for row in analyses
    ]


def blend_stock(made: Sequence[Lot]) -> list[Sequence[str]]:
    """What a count found of blends."""
    rows = [
        (lot.lot, str(LEFT_BAGS.get(lot.lot, 0)), str(lot.stream.material.bag_kg), "0.0")
        for lot in made
    ]
    return [STOCK_HEADER, *rows]


def _book() -> dict[str, Mapping[str, Any]]:
    """The blends of the book by the number of their lot."""
    every = tomllib.loads(BOOK.read_text(encoding="utf-8"))["blend"]
    return {one["lot"]: one for one in every}


def _lot(made: Mapping[str, Any], known: Mapping[str, Lot], *, serial: int) -> Lot:
    parents = [known[lot] for lot in made["bags"]]
    heat = LEFT * _mixed(made, {lot.lot: lot.heat for lot in parents})
    return Lot(
        lot=made["lot"],
        serial=serial,
        stream=Stream(
            material=parents[0].stream.material,
            supplier=OWN,
            center=heat,
            lots=0,
            spread=0.0,
            bag_spread=EVEN,
        ),
        received=made["made_on"],
        harvest_year=max(lot.harvest_year for lot in parents),
        heat=heat,
        moisture=_mixed(made, {lot.lot: lot.moisture for lot in parents}),
        planted=None,
    )


def _mixed(made: Mapping[str, Any], values: Mapping[str, float]) -> float:
    """Mean of the lots of a blend by their bags, which are of one size."""
    total = sum(made["bags"].values())
    return float(sum(bags * values[lot] for lot, bags in made["bags"].items()) / total)


def _mixed_row(row: LaboratoryRow, known: Mapping[str, LaboratoryRow]) -> LaboratoryRow:
    made = _book()[row.lot.lot]

    def mixed(what: str, digits: int) -> float:
        found = {lot: getattr(known[lot], what) or 0.0 for lot in made["bags"]}
        return round(_mixed(made, found), digits)

    return replace(
        row,
        colour=mixed("colour", 1) or None,
        aflatoxin=mixed("aflatoxin", 2),
        ochratoxin=mixed("ochratoxin", 2),
    )
