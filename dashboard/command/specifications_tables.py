"""Proposals and approvals as lines, and what a version would change."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

import pandas as pd

from dashboard.frame.approval_words import approved, turned_down
from spc.store.approving.proposals import Proposal
from spc.store.catalogue.approvals import Approval
from spc.store.catalogue.turned_down import TurnedDown
from spc.store.desks.approval_desk import Look


def proposals_told(waiting: Sequence[Proposal]) -> list[dict[str, Any]]:
    """What waits, for programs."""
    return [
        {
            **one.key._asdict(),
            "subject": one.subject,
            "stated_from": one.stated_from,
            "reason": one.entry.reason,
            "brought_by": one.brought_by,
            "brought_at": one.brought_at,
            "file": one.file,
            "changes": list(one.changed),
        }
        for one in waiting
    ]


def approvals_told(every: Sequence[Approval | TurnedDown]) -> list[dict[str, Any]]:
    """Every approval, or all that was turned down, for programs."""
    return [asdict(one) for one in every]


def proposals_table(waiting: Sequence[Proposal]) -> pd.DataFrame:
    """What waits: what, from when by its file, who brought it, why."""
    return pd.DataFrame(
        [(one.subject, f"{one.stated_from}", one.brought_by, one.entry.reason) for one in waiting],
        columns=["waits for approval", "stated from", "brought by", "reason"],
    )


def approvals_table(every: Sequence[Approval]) -> pd.DataFrame:
    """What is in force: what, version, from when, whose approval."""
    return pd.DataFrame(
        [(one.name, one.version, f"{one.effective_from}", approved(one)) for one in every],
        columns=["approved", "version", "in force from", "approval"],
    )


def turned_down_table(every: Sequence[TurnedDown]) -> pd.DataFrame:
    """What was turned down: what, version, by whom and why."""
    return pd.DataFrame(
        [(one.name, one.version, turned_down(one)) for one in every],
        columns=["not taken", "version", "why"],
    )


def look_lines(look: Look) -> list[str]:
    """What a version changes and what it would do to lots, a line each."""
    changes = look.proposal.changed or ("it changes nothing",)
    return [
        f"{look.proposal.subject}, in force from {look.effect.since}",
        *(f"  {one}" for one in changes),
        *look.effect.sentences,
    ]
