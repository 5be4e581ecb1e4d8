"""Deciding on a lot: asked, signed by everybody who must, and written only then."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final, Literal
from weakref import WeakKeyDictionary

from spc.acceptance import LotVerdict
from spc.errors import DispositionRefused
from spc.store.catalogue import approvals
from spc.store.file.cursors import Cursor, records
from spc.store.lots import dispositions, gathering, judgement, lots, news, release, shown
from spc.store.lots.dispositions import Signed
from spc.store.lots.lots import Lot
from spc.store.lots.release import Decision
from spc.store.people import Actor, Ask, Proof, Request, permit, together, void_about
from spc.store.record import audit

# Each transaction has a cursor of its own; what it has asked, checked and written rests on one
# judgement, which takes longer than everything else in it.
_JUDGED: Final[WeakKeyDictionary[Cursor, dict[str, LotVerdict]]] = WeakKeyDictionary()


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What somebody sees of a lot while they decide.

    Attributes
    ----------
    evidence
        `judgement.fingerprint` of its verdict.
    decision
        Name of the latest decision on it; empty if there is none.
    entry
        The last entry of the audit chain then.
    """

    evidence: str
    decision: str
    entry: int

    @property
    def rests_on(self) -> dict[str, str]:
        """What a signature given now is made on."""
        return {"evidence": self.evidence, "decision": self.decision}


@dataclass(frozen=True, slots=True, kw_only=True)
class Disposed:
    """What became of a decision.

    Attributes
    ----------
    state
        Signed by everybody who must, or waiting for a second person; the lot is as it was then.
    request
        Names what was signed, and what is still to be signed.
    disposition
        The name of the decision; empty while it waits.
    """

    state: Literal["signed", "waiting"]
    request: str
    disposition: str = ""


def seen(cursor: Cursor, lot: str) -> Seen:
    """What is to be seen of a lot now."""
    return _seen(cursor, lot, judgement.verdicts(cursor, [lot])[lot])


def ask(
    cursor: Cursor,
    actor: Actor,
    lot: str,
    decided: Decision,
    *,
    looked: Seen | None,
    asks: str = "",
) -> Ask:
    """What is to be signed for a decision.

    Parameters
    ----------
    looked
        What the person saw; None to decide on what is there now.
    asks
        Id of the person who is asked to sign beside; empty for anyone who may.

    Raises
    ------
    NotAllowed
        If no role of the actor's may decide so.
    DispositionRefused
        If the rules of release do not allow it, or there is something that the person has not seen.
    """
    one, judged = lots.one(cursor, lot), _judged(cursor, lot)
    wanted = release.deed(decided, judged, before=one.decision)
    permit(actor, wanted)
    now = _seen(cursor, lot, judged)
    if looked is not None and looked.rests_on != now.rests_on:
        raise _overtaken(lot, decided, news.since(cursor, lot, looked.entry, judged))
    if decided.corrects:
        _refuse_past(lot, decided, latest=now.decision)
    _check(cursor, one, decided, judged)
    return Ask(
        deed=wanted,
        subject=lot,
        about=shown.shown(one, decided, judged, corrected=_corrected(cursor, decided)),
        rests_on=now.rests_on,
        meaning=f"corrected: {decided.decision}" if decided.corrects else decided.decision,
        reason=decided.reason,
        asks=asks,
    )


def dispose(
    cursor: Cursor, actor: Actor, asked: Ask, *, second: Proof | None, at: datetime
) -> Disposed:
    """Sign a decision, and write it if nobody else must sign it."""
    request = together(cursor, actor, asked, second=second, at=at)
    if not request.complete:
        return Disposed(state="waiting", request=request.request)
    name = carry_out(cursor, request, actor=actor, at=at)
    return Disposed(state="signed", request=request.request, disposition=name)


def carry_out(cursor: Cursor, request: Request, *, actor: Actor, at: datetime) -> str:
    """Write a decision that was signed; what else was asked about the lot is overtaken.

    Raises
    ------
    DispositionRefused
        If the rules of release do not allow it, or another deed was signed than it is: whoever
        asked may have written the request past this module, and a term may have passed since.
    """
    one, decided = lots.one(cursor, request.subject), shown.decided(request)
    judged = _judged(cursor, one.lot)
    if release.deed(decided, judged, before=one.decision) != request.deed:
        raise DispositionRefused(
            f"what was signed, to {request.deed}, is not what it would be.",
            where=f"lot {one.lot}",
            remedy="Ask for it again on the lot's own page.",
            reason_typed=request.reason,
        )
    _check(cursor, one, decided, judged)
    under = judged.specification
    approval = approvals.of_specification(cursor, under.material, under.version)
    approved_at = approval.approved_at if approval else None
    signed = Signed(request=request, decided=decided, judged=judged, approved_at=approved_at)
    name = dispositions.write(cursor, signed, actor=actor, at=at)
    why = f"another decision was taken: {decided.decision}"
    void_about(cursor, request.subject, actor=actor, why=why, at=at)
    return name


class Deciding:
    """The business of every deed that decides on a lot."""

    def rests_on(self, cursor: Cursor, request: Request) -> Mapping[str, Any]:
        """The evidence, and the latest decision."""
        lot = request.subject
        return _seen(cursor, lot, _judged(cursor, lot)).rests_on

    def news(self, cursor: Cursor, request: Request) -> str:
        """What is new of the lot since it was asked."""
        judged = _judged(cursor, request.subject)
        return news.since(cursor, request.subject, news.asked_in(cursor, request.request), judged)

    def carry_out(self, cursor: Cursor, request: Request, *, actor: Actor, at: datetime) -> None:
        """Write the decision."""
        carry_out(cursor, request, actor=actor, at=at)


def _judged(cursor: Cursor, lot: str) -> LotVerdict:
    """A lot as one transaction of signing judges it; signatures change no evidence."""
    known = _JUDGED.setdefault(cursor, {})
    if lot not in known:
        known[lot] = judgement.verdicts(cursor, [lot])[lot]
    return known[lot]


def _check(cursor: Cursor, lot: Lot, decided: Decision, judged: LotVerdict) -> None:
    today = gathering.today_of(cursor)
    release.check(lot.lot, decided, judged, before=lot.decision, today=today)


def _seen(cursor: Cursor, lot: str, judged: LotVerdict) -> Seen:
    return Seen(
        evidence=judgement.fingerprint(judged),
        decision=dispositions.latest(cursor, lot),
        entry=audit.length(cursor),
    )


def _overtaken(lot: str, decided: Decision, told: str) -> DispositionRefused:
    return DispositionRefused(
        f"something is new since you opened it: {told}.",
        where=f"lot {lot}",
        remedy="Read it, and sign then if you still want to; your reason is kept.",
        reason_typed=decided.reason,
    )


def _refuse_past(lot: str, decided: Decision, *, latest: str) -> None:
    """Only what counts is corrected: what came after a decision was decided knowing it."""
    if decided.corrects != latest:
        raise DispositionRefused(
            "that decision does not count any more, so there is nothing to correct.",
            where=f"lot {lot}",
            remedy="Correct the latest decision on the lot.",
            reason_typed=decided.reason,
        )


def _corrected(cursor: Cursor, decided: Decision) -> Mapping[str, Any] | None:
    """The decision that is corrected, as it stands."""
    if not decided.corrects:
        return None
    (row,) = records(
        cursor,
        "select decision, decided_by, decided_at from disposition where disposition = $name",
        {"name": decided.corrects},
    )
    return row
