"""Results: append-only readings with what they were derived from."""

from typing import Any, Final

import pandas as pd

from spc.intake.interpret import RESULT_FACTS
from spc.intake.novelty import novelty
from spc.store import catalogue
from spc.store.connection import Cursor, records

# What must be equal for a reading to be the one already known; who measured it may be written
# differently in two exports of the same measurement.
SAME: Final = (
    "reading_text",
    "reading_unit",
    "basis",
    "extract_volume_mL",
    "extract_mass_g",
    "cell_dilution",
)

EXISTING: Final = """
    select identity, reading_text, reading_unit, basis,
           extract_volume_mL, extract_mass_g, cell_dilution
    from result
    -- A void result is known too: the same row again does not bring it back.
    anti join (select supersedes from result where supersedes is not null) as replaced
           on replaced.supersedes = result.result
    where identity in (select identity from said)
"""

INSERT: Final = """
    insert into result by name
    select * from fresh
"""

CURRENT: Final = """
    select
        current_result.*,
        receipt.name as file,
        method.standing,
        method.screening
    from current_result
    join receipt using (receipt)
    -- Readings of control samples are no results of a lot.
    semi join lot using (lot)
    join method
      on method.method         = current_result.method
     and method.characteristic = current_result.characteristic
     and method.version        = current_result.method_version
    where $lot = '' or current_result.lot = $lot
    order by current_result.lot, characteristic, method, sample, replicate, measured_at, result
"""

RETESTS: Final = """
    select lot, characteristic, method, count(distinct measured_at::date) - 1 as retests
    from result
    join method using (method, characteristic)
    -- A correction is no new measurement; a void result was one.
    anti join (select supersedes from result where supersedes is not null) as replaced
           on replaced.supersedes = result.result
    where ($lot = '' or lot = $lot)
      and method.version  = result.method_version
      and method.standing <> 'declared'
    group by all
    having retests > 0
    order by all
"""

ONE: Final = """
    select result.*, receipt.name as file, receipt.sha256, receipt.received_by, receipt.received_at
    from result
    join receipt using (receipt)
    where result = $result
"""


def status(cursor: Cursor, said: pd.DataFrame) -> pd.Series:
    """New, known or changed, for each result that a file says; one line a result."""
    cursor.register("said", said[["identity"]])
    existing = cursor.execute(EXISTING).df()
    cursor.unregister("said")
    return novelty(said, existing, key="identity", facts=SAME)


def insert(cursor: Cursor, fresh: pd.DataFrame, *, receipt: str) -> None:
    """Append results; each is named by its receipt, its row, and its place in the row."""
    if fresh.empty:
        return
    numbered = fresh.reset_index()
    place = numbered.groupby("source_row").cumcount() + 1
    numbered["result"] = (
        receipt + "-" + numbered["source_row"].astype("str") + "-" + place.astype("str")
    )
    numbered["receipt"] = receipt
    numbered["superseding_reason"] = ""
    numbered = numbered.merge(catalogue.method_versions(cursor), how="left")
    columns = [
        "result",
        "receipt",
        "source_row",
        "method_version",
        "superseding_reason",
        *RESULT_FACTS,
    ]
    cursor.register("fresh", numbered[columns])
    cursor.execute(INSERT)
    cursor.unregister("fresh")


def current(cursor: Cursor, lot: str = "") -> pd.DataFrame:
    """Results that stand, of one lot or of all."""
    return cursor.execute(CURRENT, {"lot": lot}).df()


def retests(cursor: Cursor, lot: str = "") -> dict[str, dict[tuple[str, str], int]]:
    """By lot, and then characteristic and method: days of measurement beyond the first."""
    found: dict[str, dict[tuple[str, str], int]] = {}
    for name, characteristic, method, count in cursor.execute(RETESTS, {"lot": lot}).fetchall():
        found.setdefault(name, {})[characteristic, method] = count
    return found


def one(cursor: Cursor, result: str) -> dict[str, Any] | None:
    """One result with the file it came from; None if there is none."""
    found = records(cursor, ONE, {"result": result})
    return found[0] if found else None
