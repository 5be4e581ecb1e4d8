"""Check the whole store again: what the file holds, every seal, every value, every file.

Each part trusts only what the parts before it have checked.  What is in the file besides the tables
is compared with the package's first; the chain is hashed from its columns; rows are hashed and
compared with what the chain seals; then values are derived and files hashed again.
"""

import hashlib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc.derivation import INPUTS, derive
from spc.errors import LotHeatError
from spc.store import people
from spc.store.file import inventory
from spc.store.file.cursors import Cursor
from spc.store.file.migrations import steps
from spc.store.record import chain, sealed_rows

# Two derivations of one reading may differ in the last bits when the library under them changes.
_ROUNDING: Final = 1e-12
_MOST_NAMED: Final = 20
_AT_ONCE: Final = 100_000

# Bytes of files in memory at one time; one file may be larger.
_BYTES_AT_ONCE: Final = 32_000_000

# What a broken value makes of a computation that expects a whole one.
BROKEN: Final = (
    LotHeatError,
    ArithmeticError,
    AttributeError,
    LookupError,
    RecursionError,
    TypeError,
    ValueError,
)

VALUES: Final = f"""
    select result, lot, value_low, value_high, {", ".join(f'"{name}"' for name in INPUTS)}
    from result
    order by result
"""  # noqa: S608


@dataclass(frozen=True, slots=True, kw_only=True)
class Verification:
    """What was checked, and what is wrong.

    Attributes
    ----------
    notes
        What whoever checks the store should know though nothing is wrong with it: what was sealed
        only as it was found, and when the machine's clock went back.
    """

    checked: dict[str, int]
    faults: tuple[str, ...]
    notes: tuple[str, ...] = ()

    @property
    def ok(self) -> bool:
        """Whether nothing is wrong."""
        return not self.faults


def verify(cursor: Cursor, progress: Callable[[str], None] = lambda _step: None) -> Verification:
    """Compare the schema, and check the chain, the rows, the values and the files.

    Parameters
    ----------
    cursor
        Sees one consistent state of the store.
    progress
        Told the name of each step as it begins.

    Notes
    -----
    Where the schema is not the package's, nothing else is looked at: what the file would answer
    could not be believed.
    """
    progress("schema")
    found = inventory.inventory(cursor)
    faults = inventory.differences(found, steps()[-1].number) or _steps(cursor)
    checked = {"schema": len(found)}
    if faults:
        return Verification(checked=checked, faults=tuple(faults))
    progress("audit entries")
    read = chain.read(cursor, step=steps()[-1].number)
    checked["audit entries"] = len(read.entries)
    faults += read.faults
    progress("rows")
    checked["rows"], told = sealed_rows.faults(cursor, read, step=steps()[-1].number)
    faults += told
    for name, check in (
        ("values", _values),
        ("files", _files),
        ("secrets and signatures", people.faults),
    ):
        progress(name)
        checked[name], told = check(cursor)
        faults += told
    return Verification(checked=checked, faults=tuple(faults), notes=tuple(read.notes))


def _steps(cursor: Cursor) -> list[str]:
    rows = cursor.execute("select number, name from schema_step").fetchall()
    if len(rows) < len(steps()):
        return ["the table schema_step lacks a step."]
    return inventory.step_faults(sorted(rows), steps())


def _values(cursor: Cursor) -> tuple[int, list[str]]:
    """A share of the results at a time, because a million of them would fill the memory."""
    count, faults = 0, list[str]()
    for batch in cursor.execute(VALUES).to_arrow_reader(_AT_ONCE):
        stored = batch.to_pandas()
        count += len(stored)
        if len(faults) < _MOST_NAMED:
            faults += _underivable(stored)
    return count, faults[:_MOST_NAMED]


def _underivable(stored: pd.DataFrame) -> list[str]:
    """Results whose value does not come from their reading."""
    try:
        derived = derive(stored)
        wrong = np.zeros(len(stored), dtype=bool)
        for end in ("value_low", "value_high"):
            wrong |= ~_equal(stored[end], derived[end])
    except BROKEN as problem:
        return _broken(stored, problem)
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


def _broken(stored: pd.DataFrame, problem: Exception) -> list[str]:
    """Halved until the results are found that have no reading any more."""
    if len(stored) == 1:
        row = stored.iloc[0]
        return [
            f"result {row['result']} of lot {row['lot']}: a stored reading can no longer be"
            f" derived: {problem}"
        ]
    middle = len(stored) // 2
    first = _underivable(stored.iloc[:middle])
    return first if len(first) >= _MOST_NAMED else first + _underivable(stored.iloc[middle:])


def _equal(stored: pd.Series, derived: pd.Series) -> NDArray[np.bool_]:
    first, second = stored.to_numpy(dtype=np.float64), derived.to_numpy(dtype=np.float64)
    return np.asarray(np.isclose(first, second, rtol=_ROUNDING, atol=0.0) | (first == second))


def _files(cursor: Cursor) -> tuple[int, list[str]]:
    """The bytes of every file received or attached have the digest that stands beside them."""
    count, faults = 0, list[str]()
    for table, what in (("receipt", "received"), ("attachment", "attached")):
        sizes = cursor.execute(
            f"select rowid, octet_length(bytes) from {table} order by rowid"  # noqa: S608
        ).fetchall()
        count += len(sizes)
        for first, last in _shares(sizes):
            rows = cursor.execute(
                f"select name, sha256, bytes from {table} where rowid between ? and ?",  # noqa: S608
                [first, last],
            ).fetchall()
            faults += [
                f"the bytes of {name} are not the ones {what}."
                for name, sha256, content in rows
                if hashlib.sha256(content).hexdigest() != sha256
            ]
    return count, faults


def _shares(sizes: Iterable[tuple[int, int]]) -> Iterator[tuple[int, int]]:
    """First and last of rows that together fill no more than a share of the memory."""
    first, last, filled = -1, -1, 0
    for row, size in sizes:
        if first >= 0 and filled + size > _BYTES_AT_ONCE:
            yield first, last
            first, filled = -1, 0
        first, last, filled = (row if first < 0 else first), row, filled + size
    if first >= 0:
        yield first, last
