"""What is done once an approval has all its signatures."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime
from types import MappingProxyType
from typing import Any, Final

from spc.errors import SignatureRefused
from spc.store.approving import asking, effects, proposals
from spc.store.approving.asking import Approving
from spc.store.approving.proposals import Proposal
from spc.store.catalogue import approvals
from spc.store.catalogue.approvals import Approval, Key
from spc.store.file.cursors import Cursor
from spc.store.people.asking import Ask, void_about
from spc.store.people.faithful import refuse_other
from spc.store.people.proofs import STORE, Actor
from spc.store.people.requests import Request
from spc.store.record import audit

_ACTIONS: Final = {
    "specification": "approved a specification",
    "correction": "adopted a correction",
    "method": "adopted figures of a method",
}


class ApprovalBusiness:
    """Specifications and corrections come into force with the last signature that they need."""

    def rests_on(self, cursor: Cursor, request: Request) -> Mapping[str, Any]:
        """The version before it, its effect, and whether its day is past, as they are now."""
        key = _key(request)
        if key in approvals.standing(cursor):
            return {"version approved last": key.version}
        proposal = proposals.one(cursor, key)
        effect = effects.under_lock(cursor, proposal, since=_since(request))
        return asking.rests_on(cursor, proposal, effect)

    def news(self, cursor: Cursor, request: Request) -> str:
        """What has changed since it was asked."""
        asked, now = request.rests_on, self.rests_on(cursor, request)
        last = now["version approved last"]
        if last != asked["version approved last"]:
            return f"version {last} was approved"
        if now["back-dated"] != asked["back-dated"]:
            return "the day from which on it counts is past"
        return "other lots would be judged otherwise by it"

    def carry_out(self, cursor: Cursor, request: Request, *, actor: Actor, at: datetime) -> None:
        """Put the version in force.

        Raises
        ------
        SignatureRefused
            If whoever proposed it signed alone what takes another person, or the request does not
            say what it would do.
        """
        proposal = proposals.one(cursor, _key(request))
        _refuse_own(request, proposal)
        refuse_other(request, _asked(cursor, request))
        approval = Approval(
            **proposal.key._asdict(),
            effective_from=_since(request),
            how="signed",
            request=request.request,
            approved_by=" and ".join(one.name for one in request.signatures),
            reason=request.reason,
            approved_at=at,
        )
        written = approvals.put(cursor, [approval])
        audit.record(
            cursor,
            actor=actor.name,
            action=_ACTIONS[proposal.key.kind],
            subject=request.subject,
            detail={
                "written": {"approval": written},
                "by": [
                    {"person": one.person, "name": one.name, "role": one.role, "way": one.way}
                    for one in request.signatures
                ],
            },
        )
        void_about(cursor, request.subject, actor=STORE, why="it was approved already", at=at)


BUSINESS: Final[Mapping[str, ApprovalBusiness]] = MappingProxyType(
    dict.fromkeys(asking.DEEDS, ApprovalBusiness())
)


def _asked(cursor: Cursor, request: Request) -> Ask:
    """What would be asked now for the same, by who signed it first."""
    wanted = Approving(
        key=_key(request),
        seen=request.rests_on["effect"],
        reason=request.reason,
        since=_since(request),
    )
    asked = asking.ask(cursor, request.signatures[0].person, wanted)
    # Whom two sign beside, it matters not who of them proposed it.
    two = request.deed == asking.OWN and asked.deed == asking.SPECIFICATION
    return replace(asked, deed=request.deed) if two else asked


def _refuse_own(request: Request, proposal: Proposal) -> None:
    """Refuse a request that another asked for, and the author signed alone."""
    signers = {one.person for one in request.signatures}
    if request.deed == asking.SPECIFICATION and proposal.proposed_by in signers:
        raise SignatureRefused(
            f"{request.signatures[0].name} proposed it.",
            where=request.subject,
            remedy="Ask for the approval yourself, so that a second person signs beside you.",
            reason_typed=request.reason,
        )


def _key(request: Request) -> Key:
    told = request.about
    return Key(told["kind"], told["name"], int(told["version"]))


def _since(request: Request) -> date:
    return date.fromisoformat(request.about["in force from"])
