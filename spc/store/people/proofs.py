"""Proofs of who acts: what a door takes as `by=`; and the `Actor` that a door makes of one.

A proof of a secret is sealed with a key that only this process has, so that none can be written by
hand, and it is stale after a minute: the secret is asked for at every signature.
"""

import hmac
import secrets
from dataclasses import astuple, dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any, Final, Literal, TypeAlias

Way = Literal["session", "token", "system user", "secret", "provider", "rule"]

_KEY: Final = secrets.token_bytes(32)
_FRESH: Final = timedelta(seconds=60)

# The machine's own clock may be set back a little between two calls.
_AHEAD: Final = timedelta(seconds=5)


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionProof:
    """A browser's session, by the key that its cookie holds."""

    key: str = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class TokenProof:
    """A sender, by the token that it was given."""

    key: str = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemUserProof:
    """The user of the operating system, on one's own machine with nothing set up."""

    user: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SignedProof:
    """A person whose secret, or whose fresh sign-in at the provider, was checked a moment ago.

    Attributes
    ----------
    session
        SHA-256 of the key of the session in which it was given; empty for none.
    given_at, proven_at
        When the proof was made, and when the secret was given here or at the provider.
    about
        SHA-256 of what alone it may sign; empty if it was given for whatever is on the screen.
    material
        The provider's answer, to be kept; empty for a secret.
    """

    person: str
    session: str
    way: Way
    given_at: datetime
    proven_at: datetime
    about: str = ""
    material: str = field(default="", repr=False)
    seal: str = field(default="", repr=False)


Proof: TypeAlias = SessionProof | TokenProof | SystemUserProof | SignedProof


@dataclass(frozen=True, slots=True, kw_only=True)
class Actor:
    """Who acts, as the register knows them at this moment.

    Attributes
    ----------
    person
        Id in the register; ``os:<user>`` for the system's user, the token's digest for a sender,
        empty for a rule that acts by itself.
    provider
        ``iss#sub`` of a person whom the provider knows; empty otherwise.
    scope
        The deeds a token is for.
    session
        SHA-256 of the session's key; empty outside one.
    sign_in
        What they type to sign in; empty for who does not.
    seen_at
        When it was last written down that the session was used; None outside one.
    names_first
        Whether the next signature in this session needs the sign-in name beside the secret.
    signed
        Whether a secret, or a fresh sign-in, was given for this very act.
    proven_at, about, material
        When it was given, what alone it may sign, and the provider's answer.
    """

    person: str
    name: str
    roles: tuple[str, ...]
    way: Way
    provider: str = ""
    scope: tuple[str, ...] = ()
    sign_in: str = ""
    session: str = ""
    seen_at: datetime | None = None
    names_first: bool = True
    signed: bool = False
    proven_at: datetime | None = None
    about: str = ""
    material: str = ""

    def told(self) -> dict[str, Any]:
        """Who it was and how that is known, for an entry of the audit chain."""
        return {
            "person": self.person,
            "name": self.name,
            "roles": list(self.roles),
            "way": self.way,
        }


# Who stands in the record for what happens by rule: a lock after wrong secrets.
STORE: Final = Actor(person="", name="lotheat", roles=(), way="rule")


def sealed(proof: SignedProof) -> SignedProof:
    """A proof that `holds` will believe."""
    return replace(proof, seal=_seal(proof))


def holds(proof: SignedProof, *, at: datetime) -> bool:
    """Whether this process made a proof, less than a minute ago."""
    age = at - proof.given_at
    return -_AHEAD <= age < _FRESH and hmac.compare_digest(proof.seal, _seal(proof))


def _seal(proof: SignedProof) -> str:
    parts = "\x1f".join(map(str, astuple(replace(proof, seal=""))))
    return hmac.digest(_KEY, parts.encode(), "sha256").hex()
