"""The register of people and the tokens of senders, as lines."""

from collections.abc import Sequence
from typing import Any

import pandas as pd

from spc.store.people import Person, Token


def people_told(everybody: Sequence[Person]) -> list[dict[str, Any]]:
    """Everybody in the register, for programs."""
    return [
        {
            "person": one.person,
            "name": one.name,
            "sign_in": one.sign_in,
            "roles": list(one.roles),
            "email": one.email,
            "provider": one.provider,
            "state": one.state,
            "locked_until": one.locked_until,
            "since": one.since,
        }
        for one in everybody
    ]


def tokens_told(every: Sequence[Token]) -> list[dict[str, Any]]:
    """Every token, for programs; `token` is a digest, which opens nothing."""
    return [
        {
            "token": one.token,
            "sender": one.sender,
            "scope": list(one.scope),
            "until": one.until,
            "ended": one.ended,
        }
        for one in every
    ]


def people_table(everybody: Sequence[Person]) -> pd.DataFrame:
    """Everybody in the register: name, signs in as, roles, state."""
    return pd.DataFrame(
        [(one.name, one.sign_in, ", ".join(one.roles), one.state) for one in everybody],
        columns=["name", "signs in as", "roles", "state"],
    )


def tokens_table(every: Sequence[Token]) -> pd.DataFrame:
    """Tokens that were not ended: sender, token, what it is for, until."""
    return pd.DataFrame(
        [
            (one.sender, one.token[:12], ", ".join(one.scope), f"{one.until:%Y-%m-%d}")
            for one in every
            if not one.ended
        ],
        columns=["sender", "token", "for", "until"],
    )
