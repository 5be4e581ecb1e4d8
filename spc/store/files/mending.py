"""Held rows mended in place: who put what into which cell, beside the text that came."""

import json
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import pandas as pd

from spc.errors import InvalidInput, UnknownName
from spc.intake import Table
from spc.intake.readers import SURPLUS
from spc.store.file.cursors import Cursor
from spc.store.people.proofs import Actor
from spc.store.record import audit, receipts, rows

ACTION: Final = "mended held rows"

# What held rows call the cells beyond the header; mended to nothing, they are in nobody's way.
BEYOND: Final = SURPLUS.strip("\0")

# The latest text of each cell; of mends from before rows had an entry the times tell.
LATEST: Final = """
    select source_row, header, text
    from held_row_mend
    where receipt = $receipt
    qualify row_number() over (
        partition by source_row, header order by entry desc, mended_at desc, mend desc
    ) = 1
"""

OF_RECEIPT: Final = """
    select source_row, header, text, mended_by, reason, mended_at
    from held_row_mend
    where receipt = $receipt
    order by source_row, entry, mended_at, header
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mend:
    """The same new texts for one or many held rows of one file.

    Attributes
    ----------
    rows
        Source rows, as the receipt counts them.
    cells
        Header to the text that stands in its place; an empty one for `BEYOND` says that the columns
        now have what each should have.
    """

    receipt: str
    rows: tuple[int, ...]
    cells: Mapping[str, str]
    by: Actor
    reason: str


def mended(cursor: Cursor, receipt: str, table: Table) -> Table:
    """A file's table with the cells that people mended."""
    said = cursor.execute(LATEST, {"receipt": receipt}).df()
    if said.empty:
        return table
    cells = table.cells.copy()
    put: list[tuple[int, int]] = []
    for header, mine in said.groupby("header"):
        beyond = header == BEYOND and header not in table.headers
        column = SURPLUS if beyond else header
        cells.loc[mine["source_row"], column] = mine["text"].to_numpy()
        place = [*cells].index(column)
        put += [(row, place) for row in mine["source_row"].tolist()]
    return replace(table, cells=cells, marks=table.marks.once_seen(put))


def record(cursor: Cursor, mend: Mend) -> None:
    """Keep a mend; the rows wait on until they are checked again.

    Raises
    ------
    InvalidInput
        If no reason, row or cell is given.
    UnknownName
        If a row does not wait, or has no such cell.
    """
    _check(cursor, mend)
    cells = _cells(mend)
    frame = cells.assign(
        mend=[str(uuid.uuid4()) for _ in range(len(cells))],
        receipt=mend.receipt,
        mended_by=mend.by.name,
        reason=mend.reason.strip(),
        mended_at=audit.moment(cursor),
    )
    rows.append(cursor, "held_row_mend", frame)


def _check(cursor: Cursor, mend: Mend) -> None:
    if not mend.reason.strip():
        raise InvalidInput(
            "no reason is given.",
            where="mending",
            remedy="Say how it is known; the auditor will ask.",
        )
    if not mend.rows or not mend.cells:
        raise InvalidInput(
            "no row or no cell is chosen.",
            where="mending",
            remedy="Choose the rows, and at least one column with its new text.",
        )
    waiting = receipts.held(cursor, mend.receipt).set_index("source_row")["original"]
    for row in mend.rows:
        if row not in waiting.index:
            raise UnknownName("held row", f"{row} of {mend.receipt}", known=[])
        headers = list(json.loads(waiting.loc[row]))
        for header in mend.cells:
            if header not in headers:
                raise UnknownName("column", header, known=headers)


def of_receipt(cursor: Cursor, receipt: str) -> pd.DataFrame:
    """What people put into the cells of a file's rows, oldest first within a row.

    Returns
    -------
    DataFrame
        Columns source_row, header, text, mended_by, reason, mended_at (UTC).
    """
    return cursor.execute(OF_RECEIPT, {"receipt": receipt}).df()


def _cells(mend: Mend) -> pd.DataFrame:
    """One line a mended cell; without blanks around it, as any cell of a file is read."""
    said = [(row, header, text.strip()) for row in mend.rows for header, text in mend.cells.items()]
    return pd.DataFrame(said, columns=["source_row", "header", "text"])
