"""Long files as sources send them, with a known share of rows at fault, for the cost of intake."""

from pathlib import Path
from typing import Final

import numpy as np
import pandas as pd

import demo_data
from demo_data.workbook import write_workbook
from spc.store import Store
from tests.approved import in_force
from tests.staff import ME

LOTS: Final = 20_000
READINGS_A_LOT: Final = 50
WORKBOOK_ROWS: Final = 5_000
FAULTY_SHARE: Final = 0.001
CENSORED_SHARE: Final = 0.003
TWICE, CHANGED = 100, 50

# The columns of the sensor's export with the types that the store gives them.
TYPES: Final = {
    "Run": "bigint",
    "Lot": "varchar",
    "Bag": "varchar",
    "Reading no": "varchar",
    "Measured (UTC)": "timestamp",
    "Operator": "varchar",
    "Device": "varchar",
    "Strip batch": "varchar",
    "Portion g": "double",
    "Buffer mL": "double",
    "Cell dilution": "double",
    "Reading": "double",
    "Unit": "varchar",
}

# What can be wrong with a row: a column, and the cell that is spoiled.
FAULTS: Final = (
    ("Lot", "R24-O0417"),
    ("Lot", ""),
    ("Reading", "n.d."),
    ("Reading", "-3.1"),
    ("Unit", "umol/l"),
    ("Portion g", ""),
    ("Portion g", "1.0012"),
    ("Measured (UTC)", "2025-02-30 10:00:00"),
    ("Measured (UTC)", "2052-03-04 10:00:00"),
    ("Cell dilution", "~10"),
)


def make_store(path: Path, register: Path) -> None:
    """A fresh store that has the demo's catalogue and profiles, and knows every lot."""
    number = np.arange(LOTS)
    deliveries = pd.DataFrame(
        {
            "Our lot": [f"R24-{n:05d}" for n in number],
            "Received": "2023-01-02",
            "Supplier": np.array(["Eastlode Mills", "North Fen Spices"])[number % 2],
            "Supplier lot": "",
            "Material": np.array(["cayenne powder", "ground habanero"])[number % 2],
            "Crop year": 2022,
            "Bags": 40,
            "Bag kg": 25,
            "Price EUR/kg": 4.5,
            "Declared SHU": 41_500,
            "Declared moisture %": 9.1,
            "Certificate date": "2022-12-19",
        }
    )
    deliveries.to_csv(register, index=False)
    demo = Path(demo_data.__file__).parent
    with Store.open(path) as store:
        for file in (demo / "catalogue.toml", *sorted((demo / "profiles").glob("*.toml"))):
            store.receive(file, by=ME)
        in_force(store)
        store.receive(register, by=ME)


def make_long_file(path: Path) -> None:
    """Readings of every lot as the sensor exports them; some are at fault, or come twice."""
    rows = readings(LOTS, READINGS_A_LOT)
    rng = np.random.default_rng(7)
    faulty = rng.choice(rows.index, int(FAULTY_SHARE * len(rows)), replace=False)
    for kind, (column, cell) in enumerate(FAULTS):
        rows.loc[faulty[kind :: len(FAULTS)], column] = cell
    twice = rows.loc[rng.choice(rows.index, TWICE, replace=False)]
    changed = rows.loc[rng.choice(rows.index, CHANGED, replace=False)].assign(Reading="19.99")
    pd.concat([rows, twice, changed]).to_csv(path, index=False)


def readings(lots: int, each: int) -> pd.DataFrame:
    """Rows of the sensor's export: ten bags a lot, each read five times."""
    rng = np.random.default_rng(5)
    count = lots * each
    number = np.arange(count)
    moment = np.datetime64("2023-01-02T06:00:00") + np.timedelta64(90, "s") * number
    text = np.char.mod("%.2f", rng.normal(12.0, 2.0, count))
    censored = rng.choice(count, int(CENSORED_SHARE * count), replace=False)
    text[censored] = np.resize(["<0.5", "41.2", "0.3", ">35"], censored.size)
    return pd.DataFrame(
        {
            "Run": number + 1,
            "Lot": [f"R24-{n:05d}" for n in number // each],
            "Bag": number % each // 5 + 1,
            "Reading no": number % 5 + 1,
            "Measured (UTC)": pd.Series(moment).dt.strftime("%Y-%m-%d %H:%M:%S"),
            "Operator": rng.choice(["TO", "IV", "MQ", "JT"], count),
            "Device": rng.choice(["Reader A", "Reader B"], count),
            "Strip batch": [f"S{n:03d}" for n in number // 5_000],
            "Portion g": np.char.mod("%.4f", rng.normal(0.1, 0.0008, count)),
            "Buffer mL": "10.0",
            "Cell dilution": "10",
            "Reading": text,
            "Unit": "µmol/L",
        }
    ).astype("str")


def make_workbook(path: Path) -> None:
    """The contract laboratory's workbook, one row a lot, every determination made."""
    rng = np.random.default_rng(3)
    day = np.datetime64("2023-01-09") + np.arange(WORKBOOK_ROWS) // 20
    parts = rng.lognormal(7.0, 0.4, (3, WORKBOOK_ROWS)).round(1)
    rows = [
        (
            f"R24-{n:05d}",
            f"SW-{n}",
            day[n].item(),
            *(float(part[n]) for part in parts),
            61.5,
            "<LOQ" if n % 7 == 0 else 1.25,
            0.75,
            "absent",
        )
        for n in range(WORKBOOK_ROWS)
    ]
    write_workbook(path, rows, report="bench", day=day[-1].item())
