"""A store with lots in every state of release, for stock and blends."""

import functools
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from spc.store import Store
from tests.approved import in_force
from tests.staff import ME, enter, first_day, ines, mara, stand_still
from tests.store.everything import everything

# Colour is measured though nothing limits it; paprika has no specification.
EXTRA_CATALOGUE = """
[[material]]
material = "paprika"
form = "powder"

[[material]]
material = "chilli flakes"
form = "flakes"

[[characteristic]]
characteristic = "colour"
unit = "ASTA units"

[[method]]
method = "colorimetry"
characteristic = "colour"
standing = "routine"
uncertainty_kind = "absolute"
standard_uncertainty = 2.0
repeatability = 1.5
reading_unit = "ASTA units"
"""

# What is asked of chilli flakes came after a lot of them had been accepted.
ASKED_LATER = """
[[specification]]
material = "chilli flakes"
version = 1
effective_from = 2026-01-01
approved_by = "Mara Quill"
reason = "first issue"

[[specification.line]]
characteristic = "aflatoxin B1"
upper = 5.0
safety = true

[[specification.line]]
characteristic = "Salmonella"
requirement = "absent"
safety = true
"""

STOCK_BOOK = """
profile = "stock book"
[file]
date_format = "%Y-%m-%d"
[columns]
lot = "Lot"
[lots]
material = "Kind"
supplier = "From"
received_at = "Came"
harvest_year = "Crop"
packages = "Bags"
package_kg = "Bag kg"
price_per_kg = "Price"
currency = "EUR"
"""

COLOUR_BOOK = """
profile = "colour book"
[file]
date_format = "%Y-%m-%d"
[columns]
lot = "Lot"
measured_at = "Read"
[[measure]]
characteristic = "colour"
method = "colorimetry"
reading = "ASTA"
unit = "ASTA units"
"""

LOTS = (
    "Lot,Kind,From,Came,Crop,Bags,Bag kg,Price",
    "HOT,cayenne powder,North Mill,2026-03-02,2025,10,25,6.0",
    "MILD,cayenne powder,South Mill,2026-03-03,2025,40,25,4.0",
    "ENDING,cayenne powder,South Mill,2026-03-04,2024,8,25,3.0",
    "TOXIC,cayenne powder,North Mill,2026-03-05,2025,10,25,2.0",
    "UNTESTED,cayenne powder,North Mill,2026-03-06,2025,10,25,2.0",
    "REJECTED,cayenne powder,North Mill,2026-03-07,2025,10,25,2.0",
    "HELD,cayenne powder,North Mill,2026-03-08,2025,10,25,2.0",
    "NEW,cayenne powder,North Mill,2026-03-09,2025,10,25,2.0",
    "UNCOUNTED,cayenne powder,South Mill,2026-03-10,2025,,,",
    "PAPRIKA,paprika,South Mill,2026-03-11,2025,10,25,1.0",
    "FLAKES,chilli flakes,South Mill,2026-03-11,2025,10,25,1.0",
)

# Reading of the sensor in the cell, µmol/L, and aflatoxin B1, µg/kg.  The toxin of two lots was
# right when they were accepted; that result was void, and the next told otherwise, or never came.
MEASURED = {
    "HOT": (18.0, "0.7"),
    "MILD": (7.2, "0.7"),
    "ENDING": (6.6, "0.7"),
    "TOXIC": (8.0, "0.7"),
    "UNTESTED": (8.0, "0.7"),
    "REJECTED": (3.0, "0.7"),
    "HELD": (8.0, "0.7"),
    "NEW": (8.0, "0.7"),
    "UNCOUNTED": (8.2, "0.7"),
}
DECIDED = {
    "MILD": "accepted",
    "TOXIC": "accepted",
    "UNTESTED": "accepted",
    "REJECTED": "rejected",
    "HELD": "on hold",
    "UNCOUNTED": "accepted",
    "PAPRIKA": "accepted",
    "FLAKES": "accepted",
}
# A use and a day until which two lots were let in.
TERMS = {
    "HOT": ("restricted to blend", "hot blends only", "2026-12-31"),
    "ENDING": ("accepted under concession", "sauce only", "2026-06-30"),
}


@pytest.fixture(scope="session")
def lone_file(small_store_file, source_file, tmp_path_factory) -> Path:
    """A store with measured lots and decisions on them, closed; nobody has an account in it."""
    path: Path = tmp_path_factory.mktemp("lone") / "lots.db"
    readings = [
        f"{lot},{bag},1,2026-03-12 08:0{bag}:00,0.1,10,10,{heat * (0.98 + 0.01 * bag):.3f},µmol/L"
        for lot, (heat, _) in MEASURED.items()
        for bag in (1, 2, 3)
    ]
    water = [
        f"{lot};{sample};12.03.2026;11:0{sample};9,{sample}"
        for lot in MEASURED
        for sample in (1, 2)
    ]
    toxins = [f"{lot},2026-03-13,,,{toxin}," for lot, (_, toxin) in MEASURED.items() if toxin]
    decisions = [f"{lot},{what},2026-03-14,Mara Quill,QA,judged" for lot, what in DECIDED.items()]
    colours = ["Lot,Read,ASTA", "HOT,2026-03-15,62.0", "MILD,2026-03-15,71.5"]
    with Store.open(shutil.copy(small_store_file, path)) as store:
        for name, text in (
            ("more.toml", EXTRA_CATALOGUE),
            ("stock_book.toml", STOCK_BOOK),
            ("colour_book.toml", COLOUR_BOOK),
            ("stock.csv", "\n".join(LOTS)),
            ("colour.csv", "\n".join(colours)),
        ):
            store.receive_bytes(name, text.encode(), by=ME)
        in_force(store)
        stand_still(store, "2026-06-01")
        first_day(store, "2026-06-01")
        for source, rows in (
            ("sensor", readings),
            ("moisture", water),
            ("laboratory", toxins),
            ("decisions", decisions),
        ):
            store.receive_bytes(f"{source}.csv", source_file(source, *rows), by=ME)
        assert store.held().empty, store.held()["reason"].unique()
    return path


@pytest.fixture(scope="session")
def stocked_file(lone_file, source_file, tmp_path_factory) -> Path:
    """A store with lots in every state of release, closed; nobody blends in it yet."""
    path: Path = tmp_path_factory.mktemp("stocked") / "lots.db"
    with Store.open(shutil.copy(lone_file, path)) as store:
        store.receive_bytes("later.toml", ASKED_LATER.encode(), by=ME)
        in_force(store)
        enter(store, "mara", "ines")
        _toxins_that_were_void(store, source_file)
        for lot, (decision, scope, until) in TERMS.items():
            store.dispose(
                lot,
                decision,
                by=mara(store),
                reason="as agreed",
                second=ines(store),
                scope=scope,
                expires_on=until,
            )
    return path


def _toxins_that_were_void(store, source_file) -> None:
    for lot in ("TOXIC", "UNTESTED"):
        void = store.results(lot).query("characteristic == 'aflatoxin B1'")["result"].iloc[0]
        store.invalidate(void, cause="vials were mixed up", by=ines(store), second=mara(store))
    again = source_file("laboratory", "TOXIC,2026-03-20,,,9.8,")
    store.receive_bytes("laboratory again.csv", again, by=ines(store))


@pytest.fixture
def stocked(stocked_file, tmp_path) -> Iterator[Store]:
    """The stocked store, to write to."""
    with Store.open(shutil.copy(stocked_file, tmp_path / "stocked.db")) as store:
        yield store


@pytest.fixture(scope="session")
def full_store_file(stocked_file, source_file, tmp_path_factory) -> Path:
    """A store in which everything has happened at least once, closed."""
    path: Path = tmp_path_factory.mktemp("full-store") / "lots.db"
    with Store.open(shutil.copy(stocked_file, path)) as store:
        everything(store, source_file)
    return path


HEAT = {"good": "8.6", "borderline": "6.3", "mild": "4.5"}


@pytest.fixture(scope="session")
def evidence(small_store_file, source_file, tmp_path_factory):
    """Files of small stores in which L-1 was measured, each made once."""
    folder = tmp_path_factory.mktemp("measured")

    @functools.cache
    def made(heat, toxin):
        rows = [
            f"L-1,{bag},1,2026-03-04 10:00:00,0.1,10,10,{HEAT[heat]},µmol/L" for bag in range(1, 6)
        ]
        water = [f"L-1;{sample};04.03.2026;11:0{sample};9,0" for sample in (1, 2)]
        report = [f"L-1,2026-03-06,,,{toxin},"] if toxin else []
        path = shutil.copy(small_store_file, folder / f"{heat}{toxin}.db")
        with Store.open(path) as store:
            enter(store, "mara", "ines", "jonas", "petra")
            for source, lines in (("sensor", rows), ("moisture", water), ("laboratory", report)):
                content = source_file(source, *lines)
                store.receive_bytes(f"{source}.csv", content, by=ines(store))
        return path

    return made


@pytest.fixture
def measured(evidence, tmp_path):
    """The small store, with L-1 measured: heat good, borderline or mild; the toxin as told."""
    opened: list[Store] = []

    def made(*, heat="good", toxin="0.7"):
        store = Store.open(shutil.copy(evidence(heat, toxin), tmp_path / "measured.db"))
        opened.append(store)
        return store

    yield made
    for store in opened:
        store.close()
