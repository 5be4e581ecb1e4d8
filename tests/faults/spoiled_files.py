"""Result files of every kind, each with some of its cells, rows or bytes spoiled.

A file is made from a seed and a number alone, so that a case can be repeated by naming them.
"""

import random
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

import tomli_w

from tests.conftest import LONG_PROFILE
from tests.faults.spoiled_kinds import ODD, WRITERS, Row, with_spoiled_bytes

DELIVERED, MEASURED = datetime(2026, 3, 2), datetime(2026, 3, 4, 8, 0, 0)  # noqa: DTZ001
# Each source's columns with what stands in them; `n:` is written with the file's own signs, and
# `t` is a moment in its form of date.
SOURCES: Final = {
    "sensor": {
        "Lot": ("L-1", "L-2"),
        "Bag": ("1", "2", "3", "1|2"),
        "No": ("1", "2"),
        "Measured": ("t",),
        "Portion g": ("n:0.1", "n:0.1002"),
        "Buffer mL": ("n:10",),
        "Cell": ("n:1", "n:10"),
        "Reading": ("n:5", "n:12.5", "<n:0.5", ">n:35", "n:41.25", "n:0.1", "<LOQ", ""),
        "Unit": ("µmol/L", "umol/L", "mg/kg", "SHU"),
    },
    "register": {
        "Our lot": ("L-1", "L-3", "L-4", "L|5", "0012"),
        "Material": ("cayenne powder",),
        "Supplier": ("North Mill", "South Mill", "NORTH MILL"),
        "Received": ("t",),
        "Crop": ("2025", ""),
        "Bags": ("40", ""),
        "Bag kg": ("n:25", "n:12.5", ""),
        "Declared SHU": ("n:41000", "n:38500.5", ""),
        "Certified": ("t", ""),
    },
    "laboratory": {
        "Your lot": ("L-1", "L-2"),
        "Analysed": ("t", ""),
        "Capsaicin": ("n:1000", "n:950.25", "<LOQ"),
        "Dihydrocapsaicin": ("n:500", "<n:5", "n:0"),
        "Aflatoxin B1": ("n:0.7", "<n:0.5", "", "-"),
        "Salmonella": ("absent", "detected", ""),
    },
    "decisions": {
        "Lot": ("L-1", "L-2"),
        "Decision": ("accepted", "on hold", "Rejected"),
        "Decided": ("t",),
        "By": ("Mara Quill", "Ines Valbo"),
        "Role": ("QA", ""),
        "Reason": ("ok", ""),
    },
    "long": {
        "Lot": ("L-1", "L-2"),
        "Day": ("t",),
        "Parameter": ("Heat (SHU)", "Moisture", "moisture ", "Salmonella", "Capsaicin", "Lead"),
        "Method": ("HPLC", "by taste", ""),
        "Result": ("n:41000", "n:9.7", "<n:5", "absent", ""),
        "Unit": ("SHU", "%", "mg/kg", ""),
    },
}
LONG: Final = LONG_PROFILE.replace('lot = "Lot"\n', 'lot = "Lot"\nmeasured_at = "Day"\n')
FORMS: Final[Sequence[dict[str, Any]]] = (
    {},
    {"delimiter": ";", "decimal": ",", "thousands": ".", "date_format": "%d.%m.%Y %H:%M:%S"},
    {"delimiter": "\t", "encoding": "utf-16", "date_format": "%d/%m/%Y %H:%M"},
    {"delimiter": ";", "encoding": "cp1252", "decimal": ",", "time_zone": "Europe/Berlin"},
    {"thousands": ",", "comment": "#", "missing": ["", "-", "n.d."]},
    {"delimiter": "|", "date_format": "%Y-%m-%dT%H:%M:%S%z", "time_zone": "America/Lima"},
)
KINDS: Final = ("delimited", "delimited", "workbook", "json", "json lines", "parquet")
ROWS: Final = (0, 1, 2, 8, 30, 300, 1000, 3000, 3000)
FEW: Final = (1, 2, 5, 12)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpoiledFile:
    """A file, the profile of its source, and how many rows it has.

    Attributes
    ----------
    profile
        TOML text.
    rows
        Rows that say something; None where bytes were spoiled after they were written.
    """

    name: str
    profile: str
    content: bytes
    rows: int | None


def spoiled_file(seed: int, number: int, profiles: dict[str, str]) -> SpoiledFile:
    """One file.

    Parameters
    ----------
    seed, number
        The same two make the same file.
    profiles
        Text of the profile of each of `SOURCES`, but of the long one.
    """
    chance = random.Random(f"{seed}/{number}")  # noqa: S311
    source, kind = chance.choice(list(SOURCES)), chance.choice(KINDS)
    form = {"kind": kind, **chance.choice(FORMS)}
    bytes_too = chance.random() < 0.5
    rows = _rows(chance, source, form, chance.choice(FEW if bytes_too else ROWS))
    content, told = WRITERS[kind](chance, list(SOURCES[source]), rows, form)
    if bytes_too:
        content = with_spoiled_bytes(chance, content)
    return SpoiledFile(
        name=f"{source}-{seed}-{number}",
        profile=_profile(profiles.get(source, LONG), f"{source} {seed} {number}", form),
        content=content,
        rows=None if bytes_too else told,
    )


def _profile(text: str, name: str, form: dict[str, Any]) -> str:
    return tomli_w.dumps({**tomllib.loads(text), "profile": name, "file": form})


def _rows(chance: random.Random, source: str, form: dict[str, Any], count: int) -> list[Row]:
    """Rows of which nine in ten have a cell spoiled, and some came before."""
    columns = list(SOURCES[source].values())
    rows: list[Row] = []
    for place in range(count):
        if rows and chance.random() < 0.05:
            rows.append(list(chance.choice(rows)))
            continue
        row = [_cell(chance, chance.choice(cells), place, form) for cells in columns]
        for _ in range(chance.choice((0, 1, 1, 1, 1, 1, 1, 1, 2, 4))):
            at = chance.randrange(len(row))
            row[at] = _spoiled(chance, row[at])
        rows.append(row)
    return rows


def _cell(chance: random.Random, cell: str, place: int, form: dict[str, Any]) -> str:
    if cell == "t":
        moment = MEASURED + timedelta(seconds=61 * place, days=chance.randrange(3))
        written = moment.strftime(form.get("date_format", "%Y-%m-%d %H:%M:%S"))
        return f"{written}+0100" if "%z" in form.get("date_format", "") else written
    mark, number, digits = cell.partition("n:")
    return mark + digits.replace(".", form.get("decimal", ".")) if number else cell


def _spoiled(chance: random.Random, cell: str) -> str:
    way = chance.randrange(5)
    if way < 2:
        return chance.choice(ODD)
    at = chance.randrange(len(cell) + 1)
    if way == 2:
        return cell[:at] + chance.choice(chance.choice(ODD) or " ") + cell[at:]
    if way == 3:
        return cell[:at] + cell[at + 1 :]
    return cell + cell
