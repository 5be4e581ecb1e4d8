"""The audit chain read back: whether it holds, and what each entry seals."""

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any, Final

from spc.store.file.cursors import Cursor
from spc.store.file.migrations import ENTRIES, steps
from spc.store.record import audit
from spc.store.record.seals import Seal

ALL: Final = """
    select sequence, entered_at, actor, action, subject, detail, previous, hash, clock, sealed
    from audit
    order by sequence
"""

# As it was before an entry sealed rows.
FIRST: Final = """
    select
        sequence, entered_at, actor, action, subject, detail, previous, hash,
        null::timestamp as clock, '' as sealed
    from audit
    order by sequence
"""

# A share of the entries at a time; the evidence of a decision is long.
_AT_ONCE: Final = 2_000
_BEGINNING: Final = datetime(1970, 1, 1)  # noqa: DTZ001 - moments in a store are UTC without zone


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What verification needs of an entry.

    Attributes
    ----------
    named
        What it is about, for a sentence.
    rows
        The seals of what was written with it, by table; empty where it cannot be read.
    """

    named: str
    rows: Mapping[str, Seal]


@dataclass(slots=True, kw_only=True)
class Chain:
    """The chain as it was read.

    Attributes
    ----------
    found_until
        The last entry that sealed all as it was found; 0 where there is none.
    faults
        What is wrong with the chain itself.
    notes
        What whoever checks it should know though nothing is wrong.
    """

    entries: dict[int, Entry] = field(default_factory=dict)
    found_until: int = 0
    step: int = 0
    behind: list[tuple[int, datetime, datetime]] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def read(cursor: Cursor, *, step: int) -> Chain:
    """Read and check every entry, of a store that has reached a step of the schema."""
    chain = Chain()
    before: Mapping[str, Any] = {"sequence": 0, "hash": audit.FIRST, "entered_at": None}
    for row in _rows(cursor, FIRST if step < ENTRIES else ALL):
        chain.faults += _unlinked(row, before)
        chain.faults += _untimely(row, before)
        _take(chain, row)
        before = row
    chain.notes += _told_of_clock(chain.behind)
    return chain


def _rows(cursor: Cursor, query: str) -> Iterator[dict[str, Any]]:
    """The entries in their order; a time that is none of our calendar becomes its last moment."""
    for batch in cursor.execute(query).to_arrow_reader(_AT_ONCE):
        columns = {}
        for name, column in zip(batch.schema.names, batch.columns, strict=True):
            if name in ("entered_at", "clock"):
                columns[name] = [_moment(one) for one in column.view("int64").to_pylist()]
            else:
                columns[name] = column.to_pylist()
        for values in zip(*columns.values(), strict=True):
            yield dict(zip(columns, values, strict=True))


def _moment(microseconds: int | None) -> datetime | None:
    if microseconds is None:
        return None
    try:
        return _BEGINNING + timedelta(microseconds=microseconds)
    except OverflowError:
        return datetime.max  # noqa: DTZ901 - its entry was hashed with another time


def _unlinked(row: Mapping[str, Any], before: Mapping[str, Any]) -> Iterable[str]:
    number, expected = row["sequence"], before["sequence"] + 1
    if number > expected:
        yield f"audit entry {expected} is missing."
    elif number < expected:
        yield f"audit entry {number} is there twice."
    if row["previous"] != before["hash"]:
        yield f"audit entry {number} does not follow the one before it."
    if row["hash"] != audit.sealed(row):
        yield f"audit entry {number} ({row['action']} {row['subject']}) was changed."


def _untimely(row: Mapping[str, Any], before: Mapping[str, Any]) -> Iterable[str]:
    at, last = row["entered_at"], before["entered_at"]
    if row["sealed"] and last is not None and at < last:
        yield f"audit entry {row['sequence']} is dated before the one before it."


def _take(chain: Chain, row: Mapping[str, Any]) -> None:
    """Add what an entry seals to the chain."""
    number, named = row["sequence"], f"{row['action']} {row['subject']}"
    rows: dict[str, Seal] = {}
    try:
        told = json.loads(row["detail"])
        if row["action"] == "received":
            named = f"received {told['name']}"
        if row["sealed"]:
            said = json.loads(row["sealed"])
            rows = {table: Seal(*seal) for table, seal in said["rows"].items()}
            chain.faults += _stepped(chain, row, int(said["step"]), told)
        elif chain.step:
            chain.faults.append(f"audit entry {number} ({named}) seals nothing.")
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError) as problem:
        chain.faults.append(f"audit entry {number} ({named}) cannot be read: {problem}.")
    chain.entries[number] = Entry(named=named, rows=rows)
    if row["clock"] is not None:
        chain.behind.append((number, row["entered_at"], row["clock"]))


def _stepped(
    chain: Chain, row: Mapping[str, Any], step: int, told: Mapping[str, Any]
) -> Iterable[str]:
    """Follow the steps of the schema; only one of them may have everything sealed anew."""
    number, found = row["sequence"], row["action"] == audit.FOUND
    first = not chain.step and number > 1
    fits = told["to"] == step > told["from"] >= chain.step if found else not first
    known = step <= steps()[-1].number and (found or step == (chain.step or step))
    if not (fits and known):
        yield f"audit entry {number} seals by a step of the schema that was not taken there."
    chain.step = step
    if not found:
        return
    chain.found_until = number
    day = f"{row['entered_at']:%Y-%m-%d}"
    chain.notes.append(
        f"the store was sealed as it was found on {day} (audit entry {number}); what stood in it"
        " before had been sealed by the rules of an older lotheat."
    )
    for fault in told["faults"]:
        yield f"as the store was found on {day}: {fault}"


def _told_of_clock(behind: list[tuple[int, datetime, datetime]]) -> Iterator[str]:
    """One sentence for each time that the clock went back, however many entries it lasted."""
    last = 0
    for number, at, clock in behind:
        if number != last + 1:
            yield (
                f"at audit entry {number} the machine's clock said {clock:%Y-%m-%d %H:%M:%S}, which"
                f" is before the entry before it; it is dated {at:%Y-%m-%d %H:%M:%S} (UTC)."
            )
        last = number
