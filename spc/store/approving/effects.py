"""What another version would change: lots judged as they are, and as it would judge them."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final, Literal, TypeAlias
from weakref import WeakKeyDictionary

import pandas as pd

from spc.acceptance import LotVerdict, Specification
from spc.intake.corrections import AdoptedCorrection
from spc.intake.methods import MethodVersion
from spc.store.approving.proposals import Proposal
from spc.store.catalogue import approvals, catalogue
from spc.store.catalogue.approvals import Key
from spc.store.file.cursors import Cursor
from spc.store.lots import judgement, lots
from spc.store.lots.lots import WAITING
from spc.store.lots.release import RELEASING
from spc.store.record import audit

# Decided lots that are looked at, whether or not they fall under the version.
LAST_LOTS: Final = 50

# Lots named in a sentence.
_NAMED: Final = 8

# What judges lots that are there already.
Judging: TypeAlias = Specification | AdoptedCorrection

State = Literal["waiting", "released", "decided"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """A lot that would be judged otherwise.

    Attributes
    ----------
    state
        Whether it waits, was released, or was decided otherwise.
    counts
        Whether it falls under the version by the day of its receipt.
    now, then
        Recommendations.
    why
        The sentence of the verdict it would have.
    """

    lot: str
    supplier: str
    state: State
    counts: bool
    now: str
    then: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Effect:
    """What a version would change.

    Attributes
    ----------
    since
        The day from which on it would count.
    suppliers
        By lot, of every lot that was looked at.
    before, after
        Verdicts by lot.
    moved
        The lots that would be judged otherwise.
    """

    since: date
    suppliers: Mapping[str, str]
    before: Mapping[str, LotVerdict]
    after: Mapping[str, LotVerdict]
    moved: tuple[Moved, ...]

    @property
    def fingerprint(self) -> str:
        """A short name of what would change, for an approval to rest on."""
        told = [[one.lot, one.state, one.counts, one.now, one.then] for one in self.moved]
        text = audit.canonical({"since": self.since.isoformat(), "moved": told})
        return hashlib.sha256(text.encode()).hexdigest()[:16]

    @property
    def sentences(self) -> tuple[str, ...]:
        """What would change, in words."""
        told = [
            f"{_lots(len(found))} {what}: {_named(found)}."
            for what, found in (
                ("waiting would be judged otherwise", self.counting("waiting")),
                ("released would be judged otherwise", self.counting("released")),
                ("decided would be judged otherwise", self.counting("decided")),
                (
                    "received before its day would have been judged otherwise by it",
                    [one for one in self.moved if not one.counts],
                ),
            )
            if found
        ]
        return tuple(told) or ("No lot would be judged otherwise.",)

    def counting(self, state: State) -> list[Moved]:
        """The lots in a state that fall under the version, and would be judged otherwise."""
        return [one for one in self.moved if one.counts and one.state == state]


# Each transaction that writes has a cursor of its own.
_SEEN: Final[WeakKeyDictionary[Cursor, dict[tuple[Key, date, int], Effect]]] = WeakKeyDictionary()


def effect(cursor: Cursor, proposal: Proposal, *, since: date) -> Effect:
    """What a proposal would change, in force from a day on.

    Every lot that waits, every one that falls under it, and the last that were decided are judged
    as they are and as they would be.
    """
    if isinstance(proposal.entry, MethodVersion):
        # A result keeps the figures that it was received under, so that no lot moves.
        return Effect(since=since, suppliers={}, before={}, after={}, moved=())
    looked_at = _looked_at(_judged(cursor), proposal.entry, since=since)
    names = looked_at["lot"].tolist()
    before = judgement.verdicts(cursor, names)
    after = _judged_by(cursor, names, proposal.entry)
    days = looked_at["received_at"].dt.date
    moved = [
        Moved(
            lot=lot,
            supplier=supplier,
            state=_state(decision),
            counts=bool(day >= since) or _is_first(proposal),
            now=before[lot].recommendation,
            then=after[lot].recommendation,
            why=after[lot].sentence,
        )
        for lot, supplier, decision, day in zip(
            names, looked_at["supplier"], looked_at["decision"], days, strict=True
        )
        if before[lot].recommendation != after[lot].recommendation
    ]
    return Effect(
        since=since,
        suppliers=dict(zip(names, looked_at["supplier"], strict=True)),
        before=before,
        after=after,
        moved=tuple(moved),
    )


def under_lock(cursor: Cursor, proposal: Proposal, *, since: date) -> Effect:
    """The same, judged once in a transaction that writes: what is asked, checked and put in force.

    Signatures move no lot; another approval in the same transaction may, and is judged anew.
    """
    known = _SEEN.setdefault(cursor, {})
    standing = len(approvals.standing(cursor))
    wanted = (proposal.key, since, standing)
    if wanted not in known:
        known[wanted] = effect(cursor, proposal, since=since)
    return known[wanted]


def _judged(cursor: Cursor) -> pd.DataFrame:
    """The lots whose material has a specification, so that there is a verdict to change."""
    known = catalogue.load(cursor)
    specified = {one.material for one in (*known.specifications, *known.proposed)}
    every = lots.every(cursor)
    return every[every["material"].isin(specified)]


def _is_first(proposal: Proposal) -> bool:
    """Whether a proposal would judge every lot of its material: nothing does yet."""
    return proposal.current is None and isinstance(proposal.entry, Specification)


def _looked_at(every: pd.DataFrame, entry: Judging, *, since: date) -> pd.DataFrame:
    mine = every
    if entry.material:
        mine = mine[mine["material"] == entry.material]
    if isinstance(entry, AdoptedCorrection) and entry.supplier:
        mine = mine[mine["supplier"] == entry.supplier]
    wanted = mine["decision"].isin(WAITING) | (mine["received_at"] >= pd.Timestamp(since))
    wanted[mine.index[-LAST_LOTS:]] = True
    return mine[wanted]


def _judged_by(cursor: Cursor, names: list[str], entry: Judging) -> dict[str, LotVerdict]:
    if isinstance(entry, Specification):
        return judgement.verdicts(cursor, names, proposed=entry)
    return judgement.verdicts(cursor, names, adopting=[entry])


def _state(decision: str) -> State:
    if decision in WAITING:
        return "waiting"
    return "released" if decision in RELEASING else "decided"


def _lots(number: int) -> str:
    return f"{number} lot{'' if number == 1 else 's'}"


def _named(moved: list[Moved]) -> str:
    told = [f"{one.lot} ({one.now}, then {one.then})" for one in moved[:_NAMED]]
    more = len(moved) - len(told)
    return ", ".join([*told, *([f"and {more} more"] if more else [])])
