"""What is new of a lot since somebody looked at it, in words."""

from typing import Final

from spc.acceptance import LotVerdict
from spc.store.file.cursors import Cursor, records

ASKED: Final = "select entry from signing_request where request = $request"

DECIDED: Final = """
    select decision, decided_by, reason
    from decision_in_order
    where lot = $lot and entry > $entry
    order by turn
"""

MEASURED: Final = """
    select characteristic, count(*) as results
    from result
    where lot = $lot and entry > $entry
    group by characteristic
    order by characteristic
"""

VOID: Final = """
    select count(*)
    from invalidation
    join result using (result)
    where result.lot = $lot and invalidation.entry > $entry
"""


def asked_in(cursor: Cursor, request: str) -> int:
    """The entry of the audit chain in which a request was written down."""
    row = cursor.execute(ASKED, {"request": request}).fetchone()
    return int(row[0]) if row else 0


def since(cursor: Cursor, lot: str, entry: int, judged: LotVerdict) -> str:
    """What happened to a lot after an entry of the audit chain: decisions, results, or voids."""
    given = {"lot": lot, "entry": entry}
    told = [
        f"{row['decided_by']} decided {row['decision']!r} ({row['reason']})"
        for row in records(cursor, DECIDED, given)
    ]
    told += [
        f"{row['results']} {'result' if row['results'] == 1 else 'results'} of"
        f" {row['characteristic']} came"
        for row in records(cursor, MEASURED, given)
    ]
    void = cursor.execute(VOID, given).fetchone()
    if void and void[0]:
        told.append(f"{void[0]} {'result was' if void[0] == 1 else 'results were'} made void")
    return "; ".join(told) or f"the evidence is judged otherwise now ({judged.sentence})"
