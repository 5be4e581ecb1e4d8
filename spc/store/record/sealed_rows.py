"""The rows of every table, held against what the audit chain seals of them."""

from typing import Final

from spc.store.file.cursors import Cursor
from spc.store.record import seals
from spc.store.record.chain import Chain

# How a fault names the rows of a table, where the table's own name does not say it.
_WORDS: Final = {
    "applied": "token of a write",
    "disposition": "decision",
    "held_row_end": "end of a held row's wait",
    "held_row_mend": "mend of a held row",
    "investigation_end": "end of an investigation",
}


def faults(cursor: Cursor, read: Chain, *, step: int) -> tuple[int, list[str]]:
    """Compare every row of every table with what the chain seals, both ways.

    Parameters
    ----------
    step
        Of the schema, which the store has reached.

    Returns
    -------
    int, list of str
        How many rows there are, and what is wrong.
    """
    count, found = 0, list[str]()
    for table in seals.tables(step):
        standing = seals.standing(cursor, table, found_until=read.found_until, step=step)
        count += sum(seal.rows for seal in standing.values())
        stated = {
            number: entry.rows[table]
            for number, entry in read.entries.items()
            if number >= read.found_until and table in entry.rows
        }
        for number in sorted(standing.keys() | stated.keys()):
            if standing.get(number) != stated.get(number):
                found.append(_unlike(table, number, read, standing.get(number)))
    return count, found


def _unlike(table: str, number: int, read: Chain, stands: seals.Seal | None) -> str:
    words = _WORDS.get(table, table.replace("_", " "))
    there = stands.rows if stands else 0
    entry = read.entries.get(number)
    if entry is None:
        return f"{words}: {_stand(there)} under audit entry {number}, which there is not."
    named, stated = f"audit entry {number} ({entry.named})", entry.rows.get(table)
    if stated is None:
        return f"{words}: {_stand(there)} under {named}, which seals none."
    if stated.rows != there:
        rows = "1 row" if stated.rows == 1 else f"{stated.rows} rows"
        return f"{words}: {named} seals {rows}, but {there} stand."
    return f"{words}: what {named} seals was changed."


def _stand(rows: int) -> str:
    return "1 row stands" if rows == 1 else f"{rows} rows stand"
