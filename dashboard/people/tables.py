"""People, sessions and tokens as frames; pure."""

from collections.abc import Sequence
from datetime import datetime

import pandas as pd

from spc.store.people import Person, Token


def people(everybody: Sequence[Person], now: datetime) -> pd.DataFrame:
    """Everybody in the register, those who can sign in first; `now` is UTC without zone."""
    order = {"active": 0, "invited": 1, "ended": 2}
    return pd.DataFrame(
        [
            {
                "name": one.name,
                "signs in as": one.sign_in,
                "roles": ", ".join(one.roles),
                "state": _state(one, now),
                "signs in by": one.way,
                "since": one.since.date() if one.since else None,
            }
            for one in sorted(everybody, key=lambda one: order[one.state])
        ]
    )


def sessions(frame: pd.DataFrame) -> pd.DataFrame:
    """A person's sessions, newest first."""
    shown = frame[["opened_at", "seen_at", "way"]].iloc[::-1]
    minutes = shown.assign(
        opened_at=shown["opened_at"].dt.floor("min"), seen_at=shown["seen_at"].dt.floor("min")
    )
    return minutes.set_axis(["since (UTC)", "last used (UTC)", "signed in by"], axis=1)


def tokens(every: Sequence[Token]) -> pd.DataFrame:
    """Every token, those that hold first."""
    return pd.DataFrame(
        [
            {
                "sender": one.sender,
                "for": ", ".join(one.scope),
                "until": one.until.date(),
                "state": "ended" if one.ended else "given",
                "begins with": one.token[:8],
            }
            for one in sorted(every, key=lambda one: one.ended)
        ]
    )


def _state(one: Person, now: datetime) -> str:
    if one.locked_until is not None and one.locked_until > now:
        return f"locked until {one.locked_until:%H:%M} UTC"
    return one.state
