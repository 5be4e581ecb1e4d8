"""Decisions that were taken before the store was kept."""

from typing import Final

import pandas as pd

from spc.intake.columns import text
from spc.intake.holds import Holds
from spc.intake.numbers import moments
from spc.intake.profile import SourceProfile

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
)


def decisions(
    cells: pd.DataFrame, lot: pd.Series, profile: SourceProfile, holds: Holds
) -> pd.DataFrame:
    """Decisions that were taken before the store was kept."""
    if not profile.decisions:
        return pd.DataFrame(columns=list(DECISION_FACTS), index=cells.index[:0])
    frame = pd.DataFrame(
        {"lot": lot, "decision": text(cells, profile.decisions, "decision").str.casefold()}
    )
    holds.add(
        ~frame["decision"].isin(DECISIONS),
        "unknown-decision",
        reason=lambda row: f"Decision {frame.loc[row, 'decision']!r} is not known.",
        remedy=f"Write one of: {', '.join(DECISIONS)}.",
    )
    frame["decided_by"] = text(cells, profile.decisions, "by")
    holds.add(
        frame["decided_by"] == "",
        "unsigned-decision",
        reason=lambda _row: "The decision names nobody.",
        remedy="Find out who decided; a decision without a name is none.",
    )
    for meaning in ("role", "reason", "second_person"):
        frame[meaning] = text(cells, profile.decisions, meaning)
    decided = text(cells, profile.decisions, "decided_at")
    frame["decided_at"] = moments(decided, profile.form).astype("datetime64[us]")
    holds.add(
        frame["decided_at"].isna(),
        "unreadable-date",
        reason=lambda row: (
            f"{decided[row]!r} is not a date in the form {profile.form.date_format}."
        ),
        remedy="Correct the date; it is never guessed.",
    )
    return frame[list(DECISION_FACTS)]
