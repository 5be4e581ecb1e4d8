"""Decisions that were taken before the store was kept."""

from typing import Final

import pandas as pd

from spc.intake.checks.holds import Holds
from spc.intake.distinct import decoded, reworded
from spc.intake.profiles.profile import SourceProfile
from spc.intake.table.columns import Known, moment, text

DECISION_FACTS: Final = (
    "lot",
    "decision",
    "decided_by",
    "role",
    "reason",
    "second_person",
    "decided_at",
)
DECISIONS: Final = (
    "accepted",
    "rejected",
    "on hold",
    "accepted under concession",
    "sent to rework",
    "restricted to blend",
)


def decisions(
    cells: pd.DataFrame, lot: pd.Series, profile: SourceProfile, known: Known, holds: Holds
) -> pd.DataFrame:
    """Decisions that were taken before the store was kept."""
    if not profile.decisions:
        return pd.DataFrame(columns=list(DECISION_FACTS), index=cells.index[:0])
    said = text(cells, profile.decisions, "decision")
    frame = pd.DataFrame({"lot": lot, "decision": reworded(said, lambda one: one.str.casefold())})
    holds.add(
        ~frame["decision"].isin(DECISIONS),
        "unknown-decision",
        about=frame["decision"],
        reason=lambda decision: f"Decision {decision!r} is not known.",
        remedy=f"Write one of: {', '.join(DECISIONS)}.",
    )
    frame["decided_by"] = text(cells, profile.decisions, "by")
    holds.add(
        frame["decided_by"] == "",
        "unsigned-decision",
        reason="The decision names nobody.",
        remedy="Find out who decided; a decision without a name is none.",
    )
    for meaning in ("role", "reason", "second_person"):
        frame[meaning] = text(cells, profile.decisions, meaning)
    decided = text(cells, profile.decisions, "decided_at")
    frame["decided_at"] = moment(decided, profile, known, holds, what="the day of decision")
    holds.add(
        frame["decided_at"].isna(),
        "missing-date",
        reason="The day of decision is not given.",
        remedy="Find out when it was decided; a date is never assumed.",
    )
    return decoded(frame[list(DECISION_FACTS)])
