"""Why a lot may not go into a blend."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from spc.acceptance.judging import judge
from spc.store.blends import assays, parentage
from spc.store.blends.bags import DUST, Holding
from spc.store.file.cursors import Cursor, records
from spc.store.lots import alarms, gathering
from spc.store.lots.gathering import Gathered
from spc.store.lots.release import LIMITED, RELEASING

DECIDED: Final = """
    select lot, decision, scope, expires_on
    from decision_in_order
    qualify row_number() over (partition by lot order by turn desc) = 1
    order by lot
"""

# What is said of safety lines that do not conform, of one and of several.
_SAFETY: Final = {
    "not conforming": ("is not", "are not", "conforming, and mixing does not make it compliant"),
    "undecided": ("is", "are", "undecided"),
    "no result": ("has", "have", "no result that may decide"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """The latest decision on a lot; empty texts where there is none."""

    lot: str
    decision: str = ""
    scope: str = ""
    expires_on: str = ""

    @property
    def limited(self) -> bool:
        """Whether it holds for a use and a time only."""
        return self.decision in LIMITED


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ruled:
    """Which lots may be used, with what that rests on.

    Attributes
    ----------
    gathered
        Evidence of the lots and of what went into them.
    decisions
        The latest on every lot that has one.
    reasons
        By lot, why it may not be used; empty where it may.
    """

    gathered: Gathered
    decisions: Mapping[str, Decided]
    reasons: Mapping[str, Sequence[str]]


def decided(cursor: Cursor) -> dict[str, Decided]:
    """The latest decision on every lot that has one."""
    return {row["lot"]: Decided(**row) for row in records(cursor, DECIDED)}


def ruled(cursor: Cursor, wanted: Sequence[str]) -> Ruled:
    """Why each lot may not go into a blend, whatever is left of it.

    Raises
    ------
    UnknownName
        If one of them is not in the store.

    Notes
    -----
    A safety line stands above every decision: it bars the lot, and every blend that some of the
    lot went into, because mixing does not make it compliant.
    """
    parents = {lot: old for lot, old in parentage.ancestors(cursor).items() if lot in set(wanted)}
    gathered = gathering.gather(
        cursor, {*wanted, *(old for every in parents.values() for old in every)}
    )
    decisions, today = decided(cursor), gathered.today
    against = alarms.standing(cursor, list(gathered.deliveries))
    reasons = {
        lot: (
            *unsafe(gathered, lot, against),
            *_undecided(decisions.get(lot, Decided(lot=lot)), today),
            *_inherited(gathered, decisions, against, parents.get(lot, ())),
        )
        for lot in wanted
    }
    return Ruled(gathered=gathered, decisions=decisions, reasons=reasons)


def used_up(holding: Holding) -> Iterable[str]:
    """Why there is nothing of a lot to plan with."""
    if holding.available_kg is None:
        yield "nobody knows how much of it is there, so count it first"
    elif holding.available_kg <= DUST:
        aside = holding.reserved_kg > DUST
        yield "all that is left of it is set aside for blends" if aside else "nothing is left of it"


def unsafe(gathered: Gathered, lot: str, against: Mapping[str, Sequence[str]]) -> Iterable[str]:
    """What the safety lines of a lot say against it, and rows that wait with something worse."""
    yield from (told.rstrip(".") for told in against.get(lot, ()))
    asked = assays.specification_of(gathered, lot)
    if asked is None:
        yield "its material has no specification, so no safety line was looked at"
        return
    outcomes = [
        (line.characteristic, judge(line, gathered.evidence[lot]).outcome)
        for line in asked.lines
        if line.safety
    ]
    for outcome, (singular, plural, told) in _SAFETY.items():
        names = [name for name, found in outcomes if found == outcome]
        if len(names) == 1:
            yield f"the safety line {names[0]} {singular} {told}"
        elif names:
            listed = f"{', '.join(names[:-1])} and {names[-1]}"
            yield f"the safety lines {listed} {plural} {told}"


def _undecided(latest: Decided, today: date) -> Iterable[str]:
    if latest.decision not in RELEASING:
        yield latest.decision or "not decided yet"
    elif latest.limited and latest.expires_on and latest.expires_on < today.isoformat():
        yield f"{latest.decision} until {latest.expires_on}, which has passed"


def _inherited(
    gathered: Gathered,
    decisions: Mapping[str, Decided],
    against: Mapping[str, Sequence[str]],
    parents: Sequence[str],
) -> Iterable[str]:
    for parent in parents:
        # A lot that went into a blend was released then, and is blocked again.
        latest = decisions.get(parent, Decided(lot=parent)).decision
        if latest and latest not in RELEASING:
            yield f"it holds lot {parent}, which is {latest}"
        for told in unsafe(gathered, parent, against):
            yield f"it holds lot {parent}, of which {told}"
