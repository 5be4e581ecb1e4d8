"""Catalogues in force at once: for tests that judge by what they have just received."""

from spc.store import Store
from spc.store.approving import proposals
from spc.store.catalogue import approvals
from spc.store.catalogue.approvals import Approval
from spc.store.file.cursors import Cursor
from spc.store.record import audit


def in_force(store: Store) -> None:
    """Put in force all that waits, from the day that its file states.

    Stands in for approvals whose rules are not what a test is about.
    """

    def work(cursor: Cursor) -> None:
        at = audit.moment(cursor)
        waiting = [
            Approval(
                **one.key._asdict(),
                effective_from=one.stated_from,
                how="history",
                request="",
                approved_by=one.entry.approved_by,
                reason=one.entry.reason,
                approved_at=at,
            )
            for one in proposals.waiting(cursor)
        ]
        detail = {"written": {"approval": approvals.put(cursor, waiting)}}
        audit.record(cursor, actor="a test", action="approved", subject="all", detail=detail)

    store._write(work)
