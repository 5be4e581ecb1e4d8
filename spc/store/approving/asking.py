"""Asking for an approval: what must hold before a proposal may be signed, and what is signed."""

from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Any, Final

from spc.acceptance import Specification
from spc.errors import SignatureRefused
from spc.intake.methods import MethodVersion
from spc.store.approving import effects, proposals
from spc.store.approving.effects import Effect
from spc.store.approving.proposals import Proposal
from spc.store.catalogue.approvals import Key
from spc.store.file.cursors import Cursor
from spc.store.lots import gathering
from spc.store.people.asking import Ask

SPECIFICATION: Final = "approve a specification"
OWN: Final = "approve one's own specification"
BACK_DATED: Final = "back-date a specification"
CORRECTION: Final = "adopt a correction of a method"
BACK_DATED_CORRECTION: Final = "back-date a correction of a method"

FIGURES: Final = "adopt figures of a method"

DEEDS: Final = (SPECIFICATION, OWN, BACK_DATED, CORRECTION, BACK_DATED_CORRECTION, FIGURES)

# What a person must be allowed to do at least, to approve one of a kind.
DEEDS_OF: Final = MappingProxyType(
    {"specification": SPECIFICATION, "correction": CORRECTION, "method": FIGURES}
)

_MEANINGS: Final = {"specification": "approved", "correction": "adopted", "method": "adopted"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Approving:
    """What somebody would approve, and what they saw of it.

    Attributes
    ----------
    seen
        The fingerprint of the effect that was shown.
    reason
        Why it is approved.
    since
        The day from which on it counts; as its file states it if not given.
    asks
        Id of the person who is asked to sign beside; empty for anyone who may.
    """

    key: Key
    seen: str
    reason: str
    since: date | None = None
    asks: str = ""


def ask(cursor: Cursor, person: str, wanted: Approving) -> Ask:
    """What is to be signed for an approval, by whoever signs it first.

    Parameters
    ----------
    person
        Their id.

    Raises
    ------
    SignatureRefused
        If the proposal changes nothing, a later version was approved since, or its effect was not
        looked at or is another by now.
    UnknownName
        If no such version waits.
    """
    proposal = proposals.one(cursor, wanted.key)
    since = day_of(cursor, proposal, wanted.since)
    effect = effects.under_lock(cursor, proposal, since=since)
    for broken in (_overtaken(proposal), _unchanged(proposal), _unseen(effect, wanted.seen)):
        if broken is not None:
            what, remedy = broken
            raise SignatureRefused(
                what, where=proposal.subject, remedy=remedy, reason_typed=wanted.reason
            )
    return Ask(
        deed=_deed(proposal, person, back_dated=since < today(cursor)),
        subject=proposal.subject,
        about=_about(proposal, effect),
        rests_on=rests_on(cursor, proposal, effect),
        meaning=_MEANINGS[wanted.key.kind],
        reason=wanted.reason,
        asks=wanted.asks,
    )


def rests_on(cursor: Cursor, proposal: Proposal, effect: Effect) -> dict[str, Any]:
    """What an approval rests on: the version before it, its effect, and that its day is to come."""
    return {
        "version approved last": proposal.current.version if proposal.current else 0,
        "effect": effect.fingerprint,
        "back-dated": effect.since < today(cursor),
    }


def today(cursor: Cursor) -> date:
    """The day it is in the store."""
    return gathering.today_of(cursor)


def day_of(cursor: Cursor, proposal: Proposal, since: date | None) -> date:
    """The day from which on a proposal would count: the one named, else as its file states it.

    Raises
    ------
    SignatureRefused
        If another day than today is named of what counts from its approval on.
    """
    if not proposal.from_approval_on:
        return since or proposal.stated_from
    now = today(cursor)
    if since not in (None, now):
        raise SignatureRefused(
            "figures of a method count for what is received from their approval on.",
            where=proposal.subject,
            remedy=f"Name no day, or {now}.",
        )
    return now


def _about(proposal: Proposal, effect: Effect) -> dict[str, Any]:
    return {
        **proposal.key._asdict(),
        "in force from": effect.since.isoformat(),
        "proposed by": proposal.brought_by,
        "changes": list(proposal.changed),
        "effect": list(effect.sentences),
        "reason of the proposal": proposal.entry.reason,
    }


def _deed(proposal: Proposal, person: str, *, back_dated: bool) -> str:
    if isinstance(proposal.entry, MethodVersion):
        return FIGURES
    if not isinstance(proposal.entry, Specification):
        return BACK_DATED_CORRECTION if back_dated else CORRECTION
    if back_dated:
        return BACK_DATED
    return OWN if person == proposal.proposed_by else SPECIFICATION


def _overtaken(proposal: Proposal) -> tuple[str, str] | None:
    if not proposal.overtaken or proposal.current is None:
        return None
    return (
        f"version {proposal.current.version} was approved in the meantime.",
        "Look at that version, and propose the next one if it is still needed.",
    )


def _unchanged(proposal: Proposal) -> tuple[str, str] | None:
    if proposal.changed:
        return None
    before = f"version {proposal.current.version}" if proposal.current else "nothing"
    return (f"it changes nothing of {before}.", "Change a line, or leave the version in force.")


def _unseen(effect: Effect, seen: str) -> tuple[str, str] | None:
    if not seen:
        return (
            "nobody has looked at its effect.",
            "Look at the lots that would be judged otherwise, and approve it then.",
        )
    if seen == effect.fingerprint:
        return None
    return (
        f"its effect is another than the one that was shown. {' '.join(effect.sentences)}",
        "Look at the lots that would be judged otherwise now, and approve it then.",
    )
