"""Check the whole store again: every value from its reading, every seal, every file."""

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc.derivation import INPUTS, derive
from spc.errors import LotHeatError
from spc.store import people
from spc.store.file.connection import Cursor
from spc.store.lots import attachments, dispositions, invalidations
from spc.store.record import audit, ledger
from spc.store.record.digests import digests, entries_digest
from spc.store.streams import baselines, investigations

# Two derivations of one reading may differ in the last bits when the library under them changes.
_ROUNDING: Final = 1e-12
_MOST_NAMED: Final = 20
_AT_ONCE: Final = 100_000

VALUES: Final = f"""
    select result, lot, value_low, value_high, {", ".join(f'"{name}"' for name in INPUTS)}
    from result
    order by result
"""  # noqa: S608

LATEST_SEALS: Final = """
    select subject, detail
    from audit
    where action in ('received', 'checked again', 'dismissed held rows', 'mended held rows')
    qualify row_number() over (partition by subject order by sequence desc) = 1
"""


LATEST_CATALOGUE: Final = """
    select detail
    from audit
    where action = 'received' and detail like '%"kind":"catalogue"%'
    order by sequence desc
    limit 1
"""

RECEIVED: Final = "select subject, actor, detail from audit where action = 'received'"

FILE_FACTS: Final = (
    "name",
    "sha256",
    "kind",
    "rows",
    "stored",
    "held",
    "known",
    "received_by",
)

FILES: Final = f"select receipt, bytes, {', '.join(FILE_FACTS)} from receipt"  # noqa: S608


@dataclass(frozen=True, slots=True, kw_only=True)
class Verification:
    """What was checked, and what is wrong."""

    checked: dict[str, int]
    faults: tuple[str, ...]

    @property
    def ok(self) -> bool:
        """Whether nothing is wrong."""
        return not self.faults


def verify(cursor: Cursor, progress: Callable[[str], None] = lambda _step: None) -> Verification:
    """Derive every value again, and check the files, the seals, the decisions and the chain.

    Parameters
    ----------
    cursor
        Sees one consistent state of the store.
    progress
        Told the name of each step as it begins.
    """
    checked: dict[str, int] = {}
    faults: list[str] = []
    for name, check in (
        ("values", _values),
        ("files", _files),
        ("receipts", _seals),
        ("catalogue", _catalogue),
        ("baselines", baselines.faults),
        ("investigations", investigations.faults),
        ("invalidations", invalidations.faults),
        ("attachments", attachments.faults),
        ("dispositions", dispositions.faults),
        ("stock and blends", ledger.faults),
        ("secrets and signatures", people.faults),
        ("audit entries", audit.faults),
    ):
        progress(name)
        checked[name], found = check(cursor)
        faults += found
    return Verification(checked=checked, faults=tuple(faults))


def _values(cursor: Cursor) -> tuple[int, list[str]]:
    """A share of the results at a time, because a million of them would fill the memory."""
    count, faults = 0, list[str]()
    for batch in cursor.execute(VALUES).to_arrow_reader(_AT_ONCE):
        stored = batch.to_pandas()
        count += len(stored)
        faults += _underivable(stored)
    return count, faults[:_MOST_NAMED]


def _underivable(stored: pd.DataFrame) -> list[str]:
    """Results whose value does not come from their reading."""
    try:
        derived = derive(stored)
    except (LotHeatError, ValueError, KeyError) as problem:
        return [f"a stored reading can no longer be derived: {problem}"]
    wrong = np.zeros(len(stored), dtype=bool)
    for end in ("value_low", "value_high"):
        wrong |= ~_equal(stored[end], derived[end])
    return [
        f"result {row.result} of lot {row.lot}: stored {row.value_low:g} to {row.value_high:g}"
        f" {row.unit}, derived {low:g} to {high:g}."
        for row, low, high in zip(
            stored[wrong].itertuples(),
            derived.loc[wrong, "value_low"],
            derived.loc[wrong, "value_high"],
            strict=True,
        )
    ]


def _equal(stored: pd.Series, derived: pd.Series) -> NDArray[np.bool_]:
    first, second = stored.to_numpy(dtype=np.float64), derived.to_numpy(dtype=np.float64)
    return np.asarray(np.isclose(first, second, rtol=_ROUNDING, atol=0.0) | (first == second))


def _files(cursor: Cursor) -> tuple[int, list[str]]:
    told = {
        receipt: {**json.loads(detail), "received_by": actor}
        for receipt, actor, detail in cursor.execute(RECEIVED).fetchall()
    }
    rows = cursor.execute(FILES)
    found, count = [], 0
    while (row := rows.fetchone()) is not None:
        count += 1
        receipt, content, *facts = row
        stands = dict(zip(FILE_FACTS, facts, strict=True))
        name, said = stands["name"], told.pop(receipt, {})
        if hashlib.sha256(content).hexdigest() != stands["sha256"]:
            found.append(f"the bytes of {name} are not the ones received.")
        if any(said.get(fact) != value for fact, value in stands.items()):
            found.append(f"the receipt of {name} differs from its audit entry.")
    found += [
        f"the receipt of {said['name']} is in the audit chain only." for said in told.values()
    ]
    return count, found


def _catalogue(cursor: Cursor) -> tuple[int, list[str]]:
    """Materials, suppliers and characteristics are what they were at the last catalogue."""
    row = cursor.execute(LATEST_CATALOGUE).fetchone()
    if row is not None and json.loads(row[0])["entries"] != entries_digest(cursor):
        return 1, ["materials, suppliers or characteristics were changed after they were received."]
    return int(row is not None), []


def _seals(cursor: Cursor) -> tuple[int, list[str]]:
    """What stands in the name of each receipt is what was sealed when it last changed."""
    now = digests(cursor)
    sealed = {
        subject: json.loads(detail)["digest"]
        for subject, detail in cursor.execute(LATEST_SEALS).fetchall()
    }
    names = dict(cursor.execute("select receipt, name from receipt").fetchall())
    found = [
        f"what {names.get(receipt, receipt)} brought was changed after it was received."
        for receipt, digest in sealed.items()
        if now.get(receipt, "") != digest
    ]
    found += [
        f"rows stand in the name of {names.get(receipt, receipt) or 'no receipt'}, which the audit"
        " chain does not know."
        for receipt in sorted({*now, *names} - set(sealed))
    ]
    return len(sealed), found
