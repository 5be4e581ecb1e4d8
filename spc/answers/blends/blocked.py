"""Which lots are let in no more though blends hold some of them, so that they can be found."""

from dataclasses import dataclass

from spc.store import Store
from spc.store.blends.drawn import Drawn
from spc.store.lots.release import RELEASING


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockedAfterUse:
    """A lot that was let in, drawn from, and is blocked again.

    Attributes
    ----------
    decision, decided_by, reason
        What holds now, and who signed it.
    drawn
        What blends hold of it, and of the lots that those blends became.
    """

    lot: str
    decision: str
    decided_by: str
    reason: str
    drawn: tuple[Drawn, ...]


def blocked_after_use(store: Store) -> tuple[BlockedAfterUse, ...]:
    """Every such lot, by number."""
    used = store.blends.used()
    latest = store.dispositions().drop_duplicates("lot", keep="last").set_index("lot")
    blocked = latest[latest.index.isin(used) & ~latest["decision"].isin(RELEASING)].sort_index()
    return tuple(
        BlockedAfterUse(
            lot=str(row["lot"]),
            decision=row["decision"],
            decided_by=row["decided_by"],
            reason=row["reason"],
            drawn=store.blends.drawn(str(row["lot"])),
        )
        for row in blocked.reset_index().to_dict("records")
    )
