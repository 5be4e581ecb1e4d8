"""Programs that send files or fetch copies: each has a token that says who it is, and what for."""

import secrets
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from typing import Final

from dashboard.gate.sessions import digest

_SCHEME: Final = "bearer"
_PREFIX: Final = "lh_"


class Scope(StrEnum):
    """What a token can be good for."""

    RECEIVE = "receive"
    BACKUP = "backup"
    OWN = "own"  # what only the commands of the server's own user ask for


# From a token and what it is shown for to its sender's name; None if it may not.
SenderOf = Callable[[str, str], str | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sender:
    """Who sends, and what they may.

    Attributes
    ----------
    name
        Stands beside what they bring.
    scopes
        What the token is good for.
    until
        When it expires, in UTC; None if it ends with the server.
    """

    name: str
    scopes: frozenset[str]
    until: datetime | None = None


class Senders:
    """Tokens of senders, of which only the hashes are kept, in the memory of this process."""

    def __init__(self, *, clock: Callable[[], datetime] = lambda: datetime.now(UTC)) -> None:
        self._clock = clock
        self._kept: dict[str, Sender] = {}
        self._lock = threading.Lock()

    def add(self, sender: Sender) -> str:
        """A new token; it is told once, here."""
        token = _PREFIX + secrets.token_urlsafe(32)
        with self._lock:
            self._kept[digest(token)] = sender
        return token

    def __call__(self, token: str, scope: str) -> str | None:
        """The sender's name, if the token is known, has not expired and is good for this."""
        with self._lock:
            found = self._kept.get(digest(token))
        if found is None or scope not in found.scopes:
            return None
        over = found.until is not None and self._clock() >= found.until
        return None if over else found.name


def token_shown(headers: Mapping[str, str]) -> str | None:
    """The token of an ``Authorization`` header; None unless it is shown as a bearer's."""
    scheme, _, token = headers.get("authorization", "").partition(" ")
    return token.strip() if scheme.lower() == _SCHEME and token.strip() else None
