"""Decisions in received files: history from before the record, or held.

What was decided before the first day of the store comes in as it was received, and counts before
everything that was signed here.  A decision from that day on is signed here, with everything that a
signature asks; and no file releases a lot over a safety line that is not shown to conform.
"""

from collections.abc import Iterable, Mapping
from datetime import date
from types import MappingProxyType
from typing import Final

import pandas as pd

from spc.acceptance.judging import judge
from spc.errors import UnknownName
from spc.store.file.cursors import Cursor
from spc.store.lots import alarms, gathering, judgement, lots
from spc.store.lots.release import RELEASING
from spc.store.people import cut_over

DECIDED_HERE: Final = "decided-here"
OPEN_SAFETY: Final = "open-safety-line"

_NOTHING: Final[Mapping[str, str]] = MappingProxyType({})
_NO_FIRST_DAY: Final = "The decision is from {day}, and no first day of this record is signed."
_SIGN_FIRST_DAY: Final = (
    "If it was taken before this record was kept, have an administrator sign the first day with"
    " `lotheat people first-day DATE`, and check the file again; else sign the decision on the lot."
)
_NOT_BEFORE: Final = "The decision is from {day}; from {first} on, decisions are signed here."
_SIGN_HERE: Final = "Open the lot, sign the decision there, and dismiss this row."
_OPEN: Final = "It lets the lot in, but {told}."
_MEASURE: Final = (
    "Receive what is missing and check the file again; a file lets no lot in over a safety line."
)


def refused(
    cursor: Cursor, said: pd.DataFrame, *, against: Mapping[str, str] = _NOTHING
) -> pd.DataFrame:
    """The decisions of a file that do not come in as history.

    Parameters
    ----------
    said
        Decisions that are new to the store: lot, decision, decided_at; one line a row.
    against
        By lot, what the same file says against its safety; it is not kept yet.

    Returns
    -------
    DataFrame
        Columns code, reason, remedy and lot; indexed as `said`.
    """
    if said.empty:
        return pd.DataFrame(columns=["code", "reason", "remedy", "lot"], index=said.index)
    first = cut_over(cursor)
    told = {
        row: why
        for row, decided in said["decided_at"].dt.date.items()
        if (why := _too_late(decided, first))
    }
    rest = said[~said.index.isin(list(told)) & said["decision"].isin(RELEASING)]
    unsafe = {**_unsafe(cursor, rest["lot"].unique()), **against}
    told |= {
        row: (OPEN_SAFETY, _OPEN.format(told=unsafe[lot]), _MEASURE)
        for row, lot in rest["lot"].items()
        if lot in unsafe
    }
    frame = pd.DataFrame.from_dict(told, orient="index", columns=["code", "reason", "remedy"])
    return frame.astype("str").assign(lot=said["lot"].reindex(frame.index))


def _too_late(decided: date, first: date | None) -> tuple[str, str, str] | None:
    day = decided.isoformat()
    if first is None:
        return DECIDED_HERE, _NO_FIRST_DAY.format(day=day), _SIGN_FIRST_DAY
    if decided >= first:
        told = _NOT_BEFORE.format(day=day, first=first.isoformat())
        return DECIDED_HERE, told, _SIGN_HERE
    return None


def _unsafe(cursor: Cursor, wanted: Iterable[str]) -> Mapping[str, str]:
    """By lot, what stands against its safety, or its first safety line not shown to conform.

    Lots without either are left out.

    A lot that the file itself announces has no result yet.
    """
    known = set(lots.names(cursor))
    gathered = gathering.gather(cursor, [lot for lot in wanted if lot in known])
    found = {lot: "nothing was measured of it yet" for lot in wanted if lot not in known}
    for lot, evidence in gathered.evidence.items():
        try:
            asked = judgement.specification_of(gathered.known, gathered.deliveries[lot])
        except UnknownName:
            continue
        for line in asked.lines:
            outcome = judge(line, evidence).outcome if line.safety else "conforming"
            if outcome != "conforming":
                found[lot] = f"the safety line {line.characteristic} is {_in_words(outcome)}"
                break
    against = alarms.standing(cursor, sorted(known.intersection(wanted)))
    return found | {lot: told[0].rstrip(".") for lot, told in against.items()}


def _in_words(outcome: str) -> str:
    return "not measured" if outcome == "no result" else outcome
