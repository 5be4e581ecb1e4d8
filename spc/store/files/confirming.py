"""Held rows that a person found to be right: who checked them, and how they know."""

from dataclasses import dataclass
from typing import Final

import pandas as pd

from spc.errors import InvalidInput, UnknownName
from spc.intake.checks.holds import CONFIRMABLE
from spc.store.file.cursors import Cursor
from spc.store.people.proofs import Actor
from spc.store.record import audit, receipts, rows

ACTION: Final = "found held rows to be right"

OF_RECEIPT: Final = """
    select distinct code, source_row
    from confirmation
    where receipt = $receipt
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Confirmation:
    """That some held rows of one file are right as they stand.

    Attributes
    ----------
    rows
        Source rows, as the receipt counts them.
    """

    receipt: str
    rows: tuple[int, ...]
    by: Actor
    reason: str


def of_receipt(cursor: Cursor, receipt: str) -> dict[str, frozenset[int]]:
    """By code, the rows of a file that were found to be right."""
    found: dict[str, set[int]] = {}
    for code, row in cursor.execute(OF_RECEIPT, {"receipt": receipt}).fetchall():
        found.setdefault(code, set()).add(row)
    return {code: frozenset(mine) for code, mine in found.items()}


def record(cursor: Cursor, wanted: Confirmation) -> None:
    """Keep that rows are right; they wait on until they are checked again.

    Raises
    ------
    InvalidInput
        If no reason or row is given, or a row waits for what no person can confirm.
    UnknownName
        If a row does not wait.
    """
    if not wanted.reason.strip() or not wanted.rows:
        raise InvalidInput(
            "a reason and a row are needed.",
            where="held rows",
            remedy="Say how it is known that they are right; the auditor will ask.",
        )
    codes = receipts.held(cursor, wanted.receipt).set_index("source_row")["code"]
    for row in wanted.rows:
        if row not in codes.index:
            raise UnknownName("held row", f"{row} of {wanted.receipt}", known=[])
        if codes[row] not in CONFIRMABLE:
            raise InvalidInput(
                f"row {row} cannot be taken in as it stands.",
                where="held rows",
                remedy="Mend the cell that is at fault, or dismiss the row.",
            )
    frame = pd.DataFrame({"source_row": list(wanted.rows)}).assign(
        code=codes[list(wanted.rows)].to_numpy(),
        receipt=wanted.receipt,
        confirmed_by=wanted.by.name,
        reason=wanted.reason.strip(),
        confirmed_at=audit.moment(cursor),
    )
    rows.append(cursor, "confirmation", frame)
