"""Programs that send files or ask for something: each has a token that says who it is.

The tokens are the register's, which says what each is good for and until when; only the server's
own, for the commands of its user, is made anew at every start and lives in its memory.
"""

import hmac
import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from dashboard.gate.sessions import digest
from spc.errors import NotKnown
from spc.store.people import Proof

_SCHEME: Final = "bearer"
_PREFIX: Final = "lh_"

# What only the commands of the server's own user ask for; no token of the register is for it.
OWN: Final = "ask the server as its own user"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sender:
    """Who asks.

    Attributes
    ----------
    name
        Stands beside what they bring.
    by
        Their proof; None for the server's own user, who proves who they are beside it.
    """

    name: str
    by: Proof | None = None


# From a token and a deed to its sender; raises NotKnown or NotAllowed.
SenderOf = Callable[[str, str], Sender]


class Senders:
    """Knows senders by their tokens.

    Parameters
    ----------
    own
        The server's own token, of which the hash is kept.
    user
        The computer's user for whom the server runs.
    registered
        Knows those of the register.
    """

    def __init__(self, own: str, *, user: str, registered: SenderOf) -> None:
        self._user, self._registered, self._own = user, registered, digest(own)

    def __call__(self, token: str, deed: str) -> Sender:
        """Who shows a token for a deed.

        Raises
        ------
        NotKnown
            If it is nobody's, or no longer.
        NotAllowed
            If it is for something else.
        """
        if hmac.compare_digest(digest(token), self._own):
            return Sender(name=self._user)
        if deed == OWN:
            raise stranger()
        return self._registered(token, deed)


def fresh_token() -> str:
    """A token that nobody knows yet."""
    return _PREFIX + secrets.token_urlsafe(32)


def token_shown(headers: Mapping[str, str]) -> str | None:
    """The token of an ``Authorization`` header; None unless it is shown as a bearer's."""
    scheme, _, token = headers.get("authorization", "").partition(" ")
    return token.strip() if scheme.lower() == _SCHEME and token.strip() else None


def stranger() -> NotKnown:
    """What is said to who shows no token, or one that opens nothing here."""
    return NotKnown(
        "the token is missing or wrong, or has expired.",
        remedy="Send `Authorization: Bearer` with a token that is good for this.",
    )
