"""Results: append-only readings with what they were derived from."""

from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc.intake.checks.novelty import KNOWN, novelty
from spc.intake.distinct import decoded
from spc.intake.results import RESULT_FACTS
from spc.store.catalogue import method_versions
from spc.store.file.appending import framed
from spc.store.file.cursors import Cursor, records
from spc.store.record import audit

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
    with mine as materialized (
        select result, identity, reading_text, reading_unit, basis,
               extract_volume_mL, extract_mass_g, cell_dilution
        from result
        where identity in (select identity from frame)
    )
    select
        mine.*,
        replaced.supersedes is null and invalidation.result is null as stands
    from mine
    left join (select distinct supersedes from result where supersedes is not null) as replaced
           on replaced.supersedes = mine.result
    left join invalidation on invalidation.result = mine.result
"""

# Lines of a file whose result another line says too, or the store: only these can be anything but
# new. By a number for each text: two texts that share one are compared, and told apart, later on.
SAID_BEFORE: Final = """
    with marked as materialized (select line, hash(identity) as mark from frame)
    select line from marked
    semi join (select mark from marked group by mark having count(*) > 1) using (mark)
    union
    select line from marked
    semi join (select hash(identity) as mark from result) using (mark)
"""

# A result is named by its receipt, its row, and its place in the row.
INSERT: Final = """
    insert into result by name
    select
        $receipt || '-' || source_row || '-' || place as result,
        $receipt                                      as receipt,
        $entry                                        as entry,
        $reason                                       as superseding_reason,
        frame.* exclude (place)
    from frame
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


def said_before(cursor: Cursor, said: pd.DataFrame) -> pd.Index:
    """The rows that may have a result which another line of the file says too, or the store."""
    with framed(cursor, said[["identity"]].assign(line=np.arange(len(said)))):
        lines = cursor.execute(SAID_BEFORE).df()["line"]
    return said.index[lines].unique().sort_values()


def as_kept(cursor: Cursor, said: pd.DataFrame) -> pd.DataFrame:
    """Results under the identity by which an earlier version kept them, where it did."""
    if "identity_said" not in said:
        return said
    with framed(cursor, said[["identity_said"]].rename(columns={"identity_said": "identity"})):
        kept = cursor.execute(EXISTING).df()["identity"].unique()
    mine = said["identity_said"].isin(kept)
    identity = said["identity"].mask(mine, said["identity_said"])
    return said.assign(identity=identity).drop(columns="identity_said")


def status(cursor: Cursor, said: pd.DataFrame) -> pd.Series:
    """New, known or changed, for each result that a file says; one line a result.

    What was said once is known: the same row again brings back neither a void result nor a
    superseded one.  Only what stands can be contradicted.
    """
    with framed(cursor, said[["identity"]]):
        existing = cursor.execute(EXISTING).df()
    stands = existing["stands"].to_numpy(dtype=bool)
    if stands.all():
        return novelty(said, existing, key="identity", facts=SAME)
    facts = ["identity", *SAME]
    again = _keys(decoded(said[facts])).isin(_keys(existing.loc[~stands, facts])).to_numpy()
    fate = pd.Series(KNOWN, index=said.index, dtype="str")
    # A line that is past says nothing that another line of the file could contradict.
    fate[~again] = novelty(said[~again], existing[stands], key="identity", facts=SAME)
    return fate


def _keys(frame: pd.DataFrame) -> pd.Series:
    """One number a line: what is absent equals what is absent."""
    return pd.util.hash_pandas_object(frame, index=False)


def insert(cursor: Cursor, fresh: pd.DataFrame, *, receipt: str, reason: str = "") -> None:
    """Append results, with the version in force of the method that each was measured by.

    Parameters
    ----------
    fresh
        With a column `supersedes`, if some correct others, which then count no longer.
    reason
        Why they do.
    """
    if fresh.empty:
        return
    first = ~fresh.index.duplicated()
    line = np.arange(len(fresh))
    # The results of one row stand together.
    place = line - np.maximum.accumulate(np.where(first, line, 0)) + 1
    facts = [*RESULT_FACTS, *(["supersedes"] if "supersedes" in fresh else [])]
    frame = fresh[facts].assign(
        source_row=fresh.index, place=place, method_version=_versions(cursor, fresh)
    )
    with framed(cursor, frame):
        told = {"receipt": receipt, "entry": audit.upcoming(cursor), "reason": reason}
        cursor.execute(INSERT, told)


def _versions(cursor: Cursor, fresh: pd.DataFrame) -> NDArray[np.int64]:
    """The version in force of each result's method; a join would copy every column for it."""
    in_force = method_versions.numbers_in_force(cursor)
    versions = np.zeros(len(fresh), dtype=np.int64)
    pairs = fresh[["method", "characteristic"]].drop_duplicates().astype("str")
    for pair in pairs.itertuples(index=False, name=None):
        rows = (fresh["method"] == pair[0]) & (fresh["characteristic"] == pair[1])
        versions[rows] = in_force[pair]
    return versions


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
