"""Deciding on a lot: asked, signed by everybody who must, and written only then."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any, Literal

from spc.acceptance import LotVerdict
from spc.errors import DispositionRefused
from spc.store.catalogue import catalogue
from spc.store.file.cursors import Cursor
from spc.store.lots import dispositions, gathering, judgement, lots, news, release
from spc.store.lots.release import Decision
from spc.store.people import Actor, Ask, Proof, Request, permit, together, void_about
from spc.store.record import audit

_ALREADY = "another decision was taken: {decision}"


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
    judged = judgement.verdicts(cursor, [lot])[lot]
    return Seen(
        evidence=judgement.fingerprint(judged),
        decision=dispositions.latest(cursor, lot),
        entry=audit.length(cursor),
    )


def ask(cursor: Cursor, actor: Actor, lot: str, decided: Decision, *, looked: Seen | None) -> Ask:
    """What is to be signed for a decision.

    Parameters
    ----------
    looked
        What the person saw; None to decide on what is there now.

    Raises
    ------
    NotAllowed
        If no role of the actor's may decide so.
    DispositionRefused
        If the rules of release do not allow it, or there is something that the person has not seen.
    """
    judged = judgement.verdicts(cursor, [lot])[lot]
    before = lots.one(cursor, lot).decision
    wanted = release.deed(decided, judged, before=before)
    permit(actor, wanted)
    latest = dispositions.latest(cursor, lot)
    rests = {"evidence": judgement.fingerprint(judged), "decision": latest}
    if looked is not None and rests != {"evidence": looked.evidence, "decision": looked.decision}:
        told = news.since(cursor, lot, looked.entry, judged)
        raise DispositionRefused(
            f"something is new since you opened it: {told}.",
            where=f"lot {lot}",
            remedy="Read it, and sign then if you still want to; your reason is kept.",
            reason_typed=decided.reason,
        )
    today = gathering.today_of(cursor, catalogue.load(cursor))
    release.check(lot, decided, judged, before=before, today=today)
    return Ask(
        deed=wanted,
        subject=lot,
        about=_shown(decided, judged),
        rests_on=rests,
        meaning=decided.decision,
        reason=decided.reason,
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


class Deciding:
    """The business of every deed that decides on a lot."""

    def rests_on(self, cursor: Cursor, request: Request) -> Mapping[str, Any]:
        """The evidence, and the latest decision."""
        now = seen(cursor, request.subject)
        return {"evidence": now.evidence, "decision": now.decision}

    def news(self, cursor: Cursor, request: Request) -> str:
        """What is new of the lot since it was asked."""
        judged = judgement.verdicts(cursor, [request.subject])[request.subject]
        return news.since(cursor, request.subject, news.asked_in(cursor, request.request), judged)

    def carry_out(self, cursor: Cursor, request: Request, *, actor: Actor, at: datetime) -> None:
        """Write the decision."""
        carry_out(cursor, request, actor=actor, at=at)


def carry_out(cursor: Cursor, request: Request, *, actor: Actor, at: datetime) -> str:
    """Write a decision that was signed; what else was asked about the lot is overtaken."""
    judged = judgement.verdicts(cursor, [request.subject])[request.subject]
    told = request.about["decision"]
    decided = Decision(**told, reason=request.reason)
    name = dispositions.write(
        cursor, request, decided, actor=actor, evidence=judgement.snapshot(judged), at=at
    )
    why = _ALREADY.format(decision=decided.decision)
    void_about(cursor, request.subject, actor=actor, why=why, at=at)
    return name


def _shown(decided: Decision, judged: LotVerdict) -> dict[str, Any]:
    """What a person reads who signs it."""
    told = asdict(decided)
    del told["reason"]
    return {
        "decision": told,
        "recommendation": judged.recommendation,
        "sentence": judged.sentence,
        "lines": [
            {"characteristic": one.line.characteristic, "outcome": one.outcome}
            for one in judged.lines
        ],
        "flags": [flag.sentence for flag in judged.flags],
        "specification": {
            "material": judged.specification.material,
            "version": judged.specification.version,
        },
    }
