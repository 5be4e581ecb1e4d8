"""What is said of specifications, of corrections and of their approval, on screen and paper."""

from datetime import date
from html import escape
from typing import Final

from dashboard.frame.words import day
from spc.acceptance import Specification
from spc.answers.signed_versions import SignedVersion
from spc.store.approving.proposals import Proposal
from spc.store.catalogue.approvals import Approval
from spc.store.catalogue.turned_down import TurnedDown

NO_CHANGE: Final = "It changes nothing, so it cannot be approved."
NEVER_BACK: Final = "A day that is past takes the signatures of two persons."

REASON: Final = "Reason of the approval, or of turning it down"
TURNED: Final = "It stays in the record with your reason, and waits no longer."


def specification(one: Specification, approval: Approval | None) -> str:
    """Which version judges a lot, and who stands behind it."""
    if approval is None:
        return f"No version of the specification of {one.material} is approved yet."
    return (
        f"{one.material}, version {one.version}, in force from {one.effective_from},"
        f" {approved(approval)}: {approval.reason}"
    )


def approved(one: Approval) -> str:
    """Who approved a version, when, and whether they were alone."""
    who = f" by {one.approved_by}" if one.approved_by else ""
    if one.how == "history":
        return f"from before the record, as received (approved{who})"
    if one.how == "as received":
        return f"approved as received{who}"
    return f"approved{who} on {day(one.approved_at)}{_alone(one)}"


def turned_down(one: TurnedDown) -> str:
    """Who turned a version down, when and why."""
    return f"turned down by {one.turned_down_by} on {day(one.turned_down_at)}: {one.reason}"


def signed_under(one: SignedVersion) -> str:
    """The version that a decision was signed under, as approved."""
    if one.approval is None:
        return "Signed while no version of the specification was approved."
    return f"Signed under version {one.version} of the specification, {approved(one.approval)}."


def waiting(proposal: Proposal) -> str:
    """A version that waits, and who brought it."""
    return (
        f"{proposal.subject[:1].upper()}{proposal.subject[1:]}, proposed by {proposal.brought_by}"
        f" on {day(proposal.brought_at)}"
    )


def proposed(proposal: Proposal) -> str:
    """Why a version was proposed, and from when on its file states it."""
    why = proposal.entry.reason or "no reason was given"
    if proposal.from_approval_on:
        return f"In force for what is received from its adoption on; in {proposal.file}: {why}"
    return f"In force from {day(proposal.stated_from)} by its file, {proposal.file}: {why}"


def changes(proposal: Proposal) -> list[str]:
    """What a version changes of the one before it, as items of a list for HTML."""
    before = proposal.current
    head = f"Against version {before.version}:" if before else "The first version:"
    told = proposal.changed or (NO_CHANGE,)
    return [f"<li>{escape(each)}</li>" for each in (head, *told)]


def back_dated(since: date) -> str:
    """What an approval from a past day takes."""
    return f"{day(since)} is past: lots received since then will be judged by it. {NEVER_BACK}"


def _alone(one: Approval) -> str:
    if one.one_person:
        return ", one person, not countersigned yet"
    if one.countersigned_by:
        return f", one person, countersigned by {one.countersigned_by}"
    return ""
