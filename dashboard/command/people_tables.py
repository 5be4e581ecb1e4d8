"""The register of people and the tokens of senders, as lines; from the plain values of a verb."""

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd


def people_table(everybody: Sequence[Mapping[str, Any]]) -> pd.DataFrame:
    """Everybody in the register: name, signs in as, roles, state."""
    return pd.DataFrame(
        [(one["name"], one["sign_in"], ", ".join(one["roles"]), one["state"]) for one in everybody],
        columns=["name", "signs in as", "roles", "state"],
    )


def tokens_table(every: Sequence[Mapping[str, Any]]) -> pd.DataFrame:
    """Tokens that were not ended: sender, token, what it is for, until."""
    return pd.DataFrame(
        [
            (one["sender"], one["token"][:12], ", ".join(one["scope"]), one["until"][:10])
            for one in every
            if not one["ended"]
        ],
        columns=["sender", "token", "for", "until"],
    )
