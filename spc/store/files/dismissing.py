"""Held rows dismissed: nothing of them will be taken in, and the record says by whom and why."""

from collections.abc import Sequence

from spc.errors import InvalidInput, UnknownName
from spc.store.file.cursors import Cursor
from spc.store.people.proofs import Actor
from spc.store.record import audit, receipts


def dismiss(
    cursor: Cursor, receipt: str, source_rows: Sequence[int], *, by: Actor, reason: str
) -> None:
    """End the wait of held rows: nothing of them will be taken in.

    Raises
    ------
    InvalidInput
        If the reason is empty.
    UnknownName
        If one of the rows does not wait.
    """
    if not reason.strip():
        raise InvalidInput(
            "no reason is given.",
            where="dismissal",
            remedy="Say why the rows are dismissed; the auditor will ask.",
        )
    waiting = set(receipts.held(cursor, receipt)["source_row"])
    for row in source_rows:
        if row not in waiting:
            raise UnknownName("held row", f"{row} of {receipt}", known=[])
    ended = [int(row) for row in source_rows]
    receipts.end(cursor, receipt, ended, how="dismissed", by=by.name, reason=reason.strip())
    audit.record(
        cursor,
        actor=by.name,
        action="dismissed held rows",
        subject=receipt,
        detail={"rows": ended, "reason": reason.strip(), "by": by.told()},
    )
