"""Turning a proposal down: signed with a reason by somebody who may approve it."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from types import MappingProxyType
from typing import Any, Final

from spc.store.approving import proposals
from spc.store.approving.proposals import Proposal
from spc.store.catalogue import turned_down
from spc.store.catalogue.approvals import Key
from spc.store.catalogue.turned_down import TurnedDown
from spc.store.file.cursors import Cursor
from spc.store.people.asking import Ask, void_about
from spc.store.people.faithful import refuse_other
from spc.store.people.proofs import STORE, Actor
from spc.store.people.requests import Request
from spc.store.record import audit

MEANING: Final = "turned down"

DEEDS_OF: Final = MappingProxyType(
    {
        "specification": "turn down a specification",
        "correction": "turn down a correction of a method",
        "method": "turn down figures of a method",
    }
)


def ask(cursor: Cursor, key: Key, *, reason: str) -> Ask:
    """What is to be signed to turn a proposal down.

    Raises
    ------
    UnknownName
        If no such version waits.
    """
    proposal = proposals.one(cursor, key)
    return Ask(
        deed=DEEDS_OF[key.kind],
        subject=proposal.subject,
        about=_about(proposal),
        rests_on=_rests_on(proposal),
        meaning=MEANING,
        reason=reason,
    )


class TurningDown:
    """A proposal waits no longer with the last signature that turns it down."""

    def rests_on(self, cursor: Cursor, request: Request) -> Mapping[str, Any]:
        """The version before it; of what waits no longer, that it does not."""
        key = _key(request)
        waits = {one.key: one for one in proposals.unapproved(cursor)}
        return _rests_on(waits[key]) if key in waits else {"waits": False}

    def news(self, cursor: Cursor, request: Request) -> str:
        """What has changed since it was asked."""
        if not self.rests_on(cursor, request)["waits"]:
            return "it waits no longer"
        return "another version was approved"

    def carry_out(self, cursor: Cursor, request: Request, *, actor: Actor, at: datetime) -> None:
        """Write down that it was turned down; what others were asked to sign of it is void."""
        proposal = proposals.one(cursor, _key(request))
        asked = ask(cursor, proposal.key, reason=request.reason)
        refuse_other(request, replace(asked, asks=request.asks))
        row = turned_down.put(
            cursor,
            TurnedDown(
                **proposal.key._asdict(),
                request=request.request,
                turned_down_by=" and ".join(one.name for one in request.signatures),
                reason=request.reason,
                turned_down_at=at,
            ),
        )
        audit.record(
            cursor,
            actor=actor.name,
            action="turned down a proposal",
            subject=request.subject,
            detail={
                "written": {"turned_down": [row]},
                "by": [
                    {"person": one.person, "name": one.name, "role": one.role, "way": one.way}
                    for one in request.signatures
                ],
            },
        )
        void_about(cursor, request.subject, actor=STORE, why="it was turned down", at=at)


BUSINESS: Final[Mapping[str, TurningDown]] = MappingProxyType(
    dict.fromkeys(DEEDS_OF.values(), TurningDown())
)


def _about(proposal: Proposal) -> dict[str, Any]:
    return {
        **proposal.key._asdict(),
        "proposed by": proposal.brought_by,
        "changes": list(proposal.changed),
        "reason of the proposal": proposal.entry.reason,
    }


def _rests_on(proposal: Proposal) -> dict[str, Any]:
    return {
        "waits": True,
        "version approved last": proposal.current.version if proposal.current else 0,
    }


def _key(request: Request) -> Key:
    told = request.about
    return Key(told["kind"], told["name"], int(told["version"]))
