"""The honest mess of laboratory files: what people mistype, forget and export twice."""

from collections.abc import Callable, Sequence
from typing import Final

from demo_data.scenario import Lot, generator

Row = list[str]

LOT, DILUTION, PORTION, READING = 1, 10, 8, 11  # columns of the sensor export

SENSOR_MESS: Final = {
    "2024-11": ("no dilution", "repeated"),
    "2025-02": ("no portion", "no dilution"),
    "2025-04": ("letter O",),
    "2025-05": ("not detected", "no portion"),
    "2025-07": ("letter l", "repeated"),
    "2025-10": ("no dilution", "no portion"),
    "2026-01": ("no hyphen", "repeated"),
    "2026-03": ("no portion", "no dilution"),
    "2026-06": ("one digit too many",),
    "2026-08": ("repeated", "no dilution"),
    "2026-10": ("no dilution", "no portion"),
    "2026-11-20": ("no dilution", "letter O"),
}
AMBIGUOUS: Final = "40.000"
IMPOSSIBLE_DAY: Final = "2025-02-30"


def _with(column: int, text: Callable[[str], str]) -> Callable[[Row], Row]:
    return lambda row: [*row[:column], text(row[column]), *row[column + 1 :]]


EDITS: Final[dict[str, Callable[[Row], Row]]] = {
    "no dilution": _with(DILUTION, lambda _: ""),
    "no portion": _with(PORTION, lambda _: ""),
    "not detected": _with(READING, lambda _: "n.d."),
    "letter O": _with(LOT, lambda lot: lot.replace("-0", "-O", 1)),
    "letter l": _with(LOT, lambda lot: lot[:4] + lot[4:].replace("1", "l", 1)),
    "no hyphen": _with(LOT, lambda lot: lot.replace("-", "")),
    "one digit too many": _with(LOT, lambda lot: lot.replace("-", "-0")),
}


def messy(rows: Sequence[Row], name: str) -> list[Row]:
    """The rows with the mess planned for the file `name`, each kind on a row of its own."""
    found = [list(row) for row in rows]
    kinds = SENSOR_MESS.get(name, ())
    places = generator(18, *map(ord, name)).permutation(len(found)).tolist()
    for kind in kinds:
        places = places[_first_that_changes(kind, found, places) :]
        place, *places = places
        if kind == "repeated":
            found.append(found[place])
        else:
            found[place] = EDITS[kind](found[place])
    return found


def _first_that_changes(kind: str, rows: Sequence[Row], places: Sequence[int]) -> int:
    if kind == "repeated":
        return 0
    return next(n for n, p in enumerate(places) if EDITS[kind](rows[p]) != rows[p])


def ambiguous_lot(lots: Sequence[Lot]) -> Lot:
    """The lot whose certificate says 40.000, which may be forty or forty thousand."""
    return next(
        lot
        for lot in lots
        if lot.stream.supplier == "Eastlode Mills"
        and lot.stream.material.material == "cayenne powder"
        and (lot.received.year, lot.received.month) >= (2025, 10)
    )


def misdated_lot(lots: Sequence[Lot]) -> Lot:
    """The lot that was typed as received on the 30th of February."""
    return [lot for lot in lots if (lot.received.year, lot.received.month) == (2025, 2)][-1]


def repeated_lot(lots: Sequence[Lot]) -> Lot:
    """The lot whose row stands twice in the delivery register."""
    return next(lot for lot in lots if (lot.received.year, lot.received.month) == (2026, 4))
