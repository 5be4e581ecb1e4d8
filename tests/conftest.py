"""Stores that many tests share: the demo's, built once, and a tiny one of two lots."""

import fcntl
import gc
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, TypeAlias

import pytest
from hypothesis import settings

import demo_data
from spc.store import Store, Survey
from tests import reached, rounds
from tests.approved import in_force
from tests.charted import charted_survey, steady_values
from tests.staff import ME, first_day, stand_still

DEMO = Path(demo_data.__file__).parent

SMALL_CATALOGUE = """
[[material]]
material = "cayenne powder"
form = "powder"
within_lot_cv = 0.06

[[supplier]]
supplier = "North Mill"

[[supplier]]
supplier = "South Mill"
country = "Southern Plain"

[[characteristic]]
characteristic = "heat"
unit = "SHU"
scale = "log"

[[characteristic]]
characteristic = "moisture"
unit = "g/100 g"

[[characteristic]]
characteristic = "aflatoxin B1"
unit = "µg/kg"
scale = "log"

[[characteristic]]
characteristic = "Salmonella"
unit = "in 25 g"
kind = "absence"

[[method]]
method = "rapid sensor"
characteristic = "heat"
standing = "routine"
standard_uncertainty = 0.05
repeatability = 0.05
screening = true
reading_unit = "µmol/L"
quantification_limit = 0.5
range_upper = 35.0
factors = { total = 16.0 }
dilution_lowest = 20.0
dilution_highest = 2000.0

[[method]]
method = "liquid chromatography"
characteristic = "heat"
standing = "reference"
standard_uncertainty = 0.025
repeatability = 0.02
reading_unit = "µg/g"
quantification_limit = 5.0
factors = { capsaicin = 16.1, dihydrocapsaicin = 16.1 }

[[method]]
method = "supplier certificate"
characteristic = "heat"
standing = "declared"
standard_uncertainty = 0.08
repeatability = 0.03
screening = true
reading_unit = "SHU"

[[method]]
method = "moisture balance"
characteristic = "moisture"
standing = "routine"
uncertainty_kind = "absolute"
standard_uncertainty = 0.15
repeatability = 0.12
reading_unit = "g/100 g"

[[method]]
method = "liquid chromatography"
characteristic = "aflatoxin B1"
standing = "reference"
standard_uncertainty = 0.12
repeatability = 0.06
reading_unit = "µg/kg"
quantification_limit = 0.5

[[method]]
method = "culture"
characteristic = "Salmonella"
standing = "reference"
standard_uncertainty = 0.0
repeatability = 0.0
reading_unit = "in 25 g"

[[specification]]
material = "cayenne powder"
version = 1
effective_from = 2026-01-01
approved_by = "Mara Quill"
reason = "first issue"

[[specification.line]]
characteristic = "heat"
lower = 30000.0
upper = 60000.0
basis = "as-is"

[[specification.line]]
characteristic = "moisture"
upper = 11.0

[[specification.line]]
characteristic = "aflatoxin B1"
upper = 5.0
safety = true
reference_method_only = true
"""

SMALL_PROFILES = {
    "sensor.toml": """
profile = "sensor"
[file]
comment = "#"
[columns]
lot = "Lot"
sample = "Bag"
replicate = "No"
measured_at = "Measured"
extract_mass_g = "Portion g"
extract_volume_mL = "Buffer mL"
cell_dilution = "Cell"
[[measure]]
characteristic = "heat"
method = "rapid sensor"
reading = "Reading"
unit_column = "Unit"
basis = "as-is"
""",
    "register.toml": """
profile = "register"
[file]
thousands = ","
date_format = "%Y-%m-%d"
[columns]
lot = "Our lot"
measured_at = "Certified"
[[measure]]
characteristic = "heat"
method = "supplier certificate"
reading = "Declared SHU"
unit = "SHU"
basis = "as-is"
[lots]
material = "Material"
supplier = "Supplier"
received_at = "Received"
harvest_year = "Crop"
packages = "Bags"
package_kg = "Bag kg"
currency = "EUR"
[spellings.supplier]
"NORTH MILL" = "North Mill"
""",
    "moisture.toml": """
profile = "moisture"
[file]
encoding = "cp1252"
delimiter = ";"
decimal = ","
skip_rows = 1
date_format = "%d.%m.%Y %H:%M"
time_zone = "Europe/Berlin"
[columns]
lot = "Charge"
sample = "Probe"
measured_at = ["Datum", "Uhrzeit"]
[[measure]]
characteristic = "moisture"
method = "moisture balance"
reading = "Feuchte %"
unit = "g/100 g"
""",
    "laboratory.toml": """
profile = "laboratory"
unnumbered = "repeats"
[file]
date_format = "%Y-%m-%d"
missing = ["", "-"]
[columns]
lot = "Your lot"
measured_at = "Analysed"
[[measure]]
characteristic = "heat"
method = "liquid chromatography"
parts = { capsaicin = "Capsaicin", dihydrocapsaicin = "Dihydrocapsaicin" }
unit = "µg/g"
basis = "as-is"
[[measure]]
characteristic = "aflatoxin B1"
method = "liquid chromatography"
reading = "Aflatoxin B1"
unit = "µg/kg"
[[measure]]
characteristic = "Salmonella"
method = "culture"
reading = "Salmonella"
unit = "in 25 g"
""",
    "decisions.toml": """
profile = "decisions"
[file]
date_format = "%Y-%m-%d"
[columns]
lot = "Lot"
[decisions]
decision = "Decision"
decided_at = "Decided"
by = "By"
role = "Role"
reason = "Reason"
""",
}

# Header of each kind of file of the small store; the sources are named like their profiles.
# One row a determination; of the sources above none sends such a table.
LONG_PROFILE = """
profile = "long"
unnumbered = "repeats"
[file]
missing = ["", "-"]
[columns]
lot = "Lot"
[[measure]]
characteristic = "heat"
method = "liquid chromatography"
where = { Parameter = ["Heat (SHU)", "Pungency"], Method = ["HPLC"] }
reading = "Result"
unit_column = "Unit"
basis = "as-is"
[[measure]]
characteristic = "heat"
method = "supplier certificate"
where = { Parameter = ["Heat (SHU)"], Method = ["by taste", ""] }
reading = "Result"
unit_column = "Unit"
basis = "as-is"
[[measure]]
characteristic = "moisture"
method = "moisture balance"
where = { Parameter = ["Moisture"] }
reading = "Result"
unit_column = "Unit"
[[measure]]
characteristic = "Salmonella"
method = "culture"
where = { Parameter = ["Salmonella"] }
reading = "Result"
unit = "in 25 g"
"""

HEADERS = {
    "sensor": "Lot,Bag,No,Measured,Portion g,Buffer mL,Cell,Reading,Unit",
    "register": "Our lot,Material,Supplier,Received,Crop,Bags,Bag kg,Declared SHU,Certified",
    "moisture": "Feuchtewaage 2\nCharge;Probe;Datum;Uhrzeit;Feuchte %",
    "laboratory": "Your lot,Analysed,Capsaicin,Dihydrocapsaicin,Aflatoxin B1,Salmonella",
    "decisions": "Lot,Decision,Decided,By,Role,Reason",
}

SMALL_REGISTER = (
    "L-1,cayenne powder,North Mill,2026-03-02,2025,40,25,41000,2026-02-20",
    'L-2,cayenne powder,South Mill,2026-03-03,2025,20,25,"38,500",2026-02-21',
)


# Makes a store by name, by what fills the file at a path; gives the file.
Once: TypeAlias = Callable[[str, Callable[[Path], None]], Path]
# Compiled modules are kept whatever the machine is set to: each worker, and each process that a
# test starts, would compile them again, and put the asserts of every test into words again.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
# Each core has a worker of its own; a worker's sums wait for nobody.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# Thousands of tests are found at a stretch, and none of them is garbage.
gc.disable()
# A busy machine is slow, and that is no fault of what is tested.
settings.register_profile("round", deadline=None, max_examples=rounds.tries(50, many=1000))
settings.load_profile("round")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Iterator[None]:
    """Let a property fail of which too few examples came to the assertion."""
    reached.begin()
    yield
    marker = item.get_closest_marker("reaches")
    if marker is not None:
        reached.now.refuse_few(*marker.args)


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Put the files that take long first, and mark the tests of the quick round."""
    items.sort(key=rounds.place)
    config.stash[rounds.COLLECTED] = list(items)
    for item in rounds.quick(items):
        item.add_marker("quick")


def pytest_collection_finish() -> None:
    """Look for garbage from here on, and never again among what was found."""
    gc.freeze()
    gc.enable()


def pytest_xdist_auto_num_workers() -> int:
    """One more than there are cores: some wait for a browser or a server."""
    return (os.cpu_count() or 1) + 1


@pytest.fixture(scope="session")
def source_file() -> Callable[..., bytes]:
    """A file of one of the small store's sources: its header, and the rows given."""

    def made(source: str, *rows: str) -> bytes:
        encoding = "cp1252" if source == "moisture" else "utf-8"
        return "\n".join([HEADERS[source], *rows, ""]).encode(encoding)

    return made


@pytest.fixture(scope="session")
def small_sources() -> dict[str, str]:
    """Names and texts of the small store's catalogue and profiles."""
    return {"catalogue.toml": SMALL_CATALOGUE, **SMALL_PROFILES}


@pytest.fixture(scope="session")
def once_a_run(tmp_path_factory, worker_id) -> Once:
    """A store that the first who asks makes; the other workers wait for it and copy the same."""
    own: Path = tmp_path_factory.getbasetemp()
    shared = own if worker_id == "master" else own.parent

    def made(name: str, make: Callable[[Path], None]) -> Path:
        path = shared / f"{name}.db"
        with (shared / f"{name}.lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            if not path.exists():
                part = shared / f"{name}.part"
                part.unlink(missing_ok=True)
                make(part)
                part.rename(path)
        return path

    return made


@pytest.fixture(scope="session")
def small_store_file(tmp_path_factory, small_sources, source_file) -> Path:
    """The small store, closed; copy it before writing to it."""
    path: Path = tmp_path_factory.mktemp("small") / "lots.db"
    with Store.open(path) as store:
        for name, text in small_sources.items():
            store.receive_bytes(name, text.encode(), by=ME)
        in_force(store)
        register = source_file("register", *SMALL_REGISTER)
        store.receive_bytes("register.csv", register, by=ME)
    return path


@pytest.fixture
def small_store(small_store_file, tmp_path) -> Iterator[Store]:
    """A store of one material, two suppliers and the lots L-1 and L-2, to write to."""
    with Store.open(shutil.copy(small_store_file, tmp_path / "lots.db")) as store:
        yield store


@pytest.fixture(scope="session")
def demo_files() -> list[Path]:
    """What the demo loads, in its order."""
    profiles = sorted((DEMO / "profiles").glob("*.toml"))
    return [DEMO / "catalogue.toml", *profiles, *sorted((DEMO / "files").glob("*/*"))]


@pytest.fixture(scope="session")
def begun_demo_file(once_a_run: Once, demo_files) -> Path:
    """The demo's store before its last file came, closed; copy it before writing to it."""

    def begin(path: Path) -> None:
        with Store.open(path) as store:
            store.receive(demo_files[0], by=ME)
            stand_still(store, demo_data.DAY)
            first_day(store, demo_data.DAY)
            for file in demo_files[1:-1]:
                store.receive(file, by=ME)

    return once_a_run("begun", begin)


@pytest.fixture(scope="session")
def demo_store_file(once_a_run: Once, begun_demo_file, demo_files) -> Path:
    """The demo's store, closed; copy it before writing to it."""

    def finish(path: Path) -> None:
        with Store.open(shutil.copy(begun_demo_file, path)) as store:
            store.receive(demo_files[-1], by=ME)

    return once_a_run("demo", finish)


@pytest.fixture(scope="session")
def demo_store(demo_store_file, tmp_path_factory) -> Iterator[Store]:
    """The demo's store, open, for reading only."""
    copy = tmp_path_factory.mktemp("demo-open") / "lots.db"
    with Store.open(shutil.copy(demo_store_file, copy)) as store:
        yield store


@pytest.fixture
def writable_demo(demo_store_file, tmp_path) -> Iterator[Store]:
    """A copy of the demo's store, to write to."""
    with Store.open(shutil.copy(demo_store_file, tmp_path / "demo.db")) as store:
        yield store


@pytest.fixture(scope="session")
def contents() -> Callable[[Store], dict[str, list[Any]]]:
    """Every table of a store, row by row, for comparing before with after."""

    def read(store: Store) -> dict[str, list[Any]]:
        with store._connection.read() as cursor:
            rows = cursor.execute("select table_name from duckdb_tables() order by all").fetchall()
            return {
                name: cursor.execute(f'select * from "{name}" order by all').fetchall()  # noqa: S608
                for (name,) in rows
                # Tokens of writes are the plumbing, not what the store says.
                if name != "applied"
            }

    return read


@pytest.fixture(scope="session")
def charted() -> Callable[..., Survey]:
    """A survey of streams, each given by its lot values and what is special about it."""
    return charted_survey


@pytest.fixture(scope="session")
def steady() -> Callable[..., list[float]]:
    """Values of lots of a supplier who does not move."""
    return steady_values


@pytest.fixture(scope="session")
def demo_survey(demo_store) -> Survey:
    """Every stream of the demo, charted."""
    survey: Survey = demo_store.sweep()
    return survey
