"""What was in force before the record began: taken in once, when its first day is signed."""

from datetime import date, datetime

from spc.store.approving import proposals
from spc.store.catalogue import approvals
from spc.store.catalogue.approvals import Approval
from spc.store.file.cursors import Cursor
from spc.store.people.proofs import Actor
from spc.store.record import audit


def take_in(cursor: Cursor, actor: Actor, *, day: date, at: datetime) -> int:
    """Put in force what waits, was valid before a day, and has no approved version; how many.

    Parameters
    ----------
    actor
        Who signed the first day of the record.
    day
        That day.

    Notes
    -----
    Only what was received before the first day was signed: whoever signs it has it before them,
    and nothing that a file brings later calls itself history.
    """
    found = [
        one for one in proposals.waiting(cursor) if one.current is None and one.stated_from < day
    ]
    taken = [
        Approval(
            **one.key._asdict(),
            effective_from=one.stated_from,
            how="history",
            request="",
            approved_by=one.entry.approved_by,
            reason=one.entry.reason,
            approved_at=at,
        )
        for one in found
    ]
    if taken:
        audit.record(
            cursor,
            actor=actor.name,
            action="took in from before the record",
            subject=day.isoformat(),
            detail={
                "written": {"approval": approvals.put(cursor, taken)},
                "by": actor.told(),
            },
        )
    return len(taken)
