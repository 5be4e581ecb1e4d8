"""What a company's sign-in answered about a person, as it was checked."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from spc.errors import ProviderRefused


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """A checked answer of an OpenID Connect provider.

    Attributes
    ----------
    iss, sub
        Together they make the person one and the same; a name or an address may change hands.
    auth_time
        When the person showed the provider who they are, in seconds since 1970 (UTC); 0 if it does
        not say.
    nonce
        What the provider was given to sign along: the digest of a record at a signature.
    id_token, keys
        The provider's signature over all this, and the public keys, as JSON, that it holds with.
    """

    iss: str
    sub: str
    name: str
    email: str
    groups: tuple[str, ...]
    auth_time: int
    nonce: str
    id_token: str
    keys: str


def answered(claims: Mapping[str, Any], *, settings_groups: str, **kept: str) -> Answered:
    """Read the claims of a token whose signature, issuer, audience and time were checked.

    Parameters
    ----------
    settings_groups
        The claim that lists groups.
    kept
        The token and the keys.

    Raises
    ------
    ProviderRefused
        If a claim is not of the kind that it must be.
    """
    groups = claims.get(settings_groups, [])
    if not isinstance(groups, list) or not all(isinstance(one, str) for one in groups):
        raise _odd(settings_groups)
    at = claims.get("auth_time", 0)
    if isinstance(at, bool) or not isinstance(at, int | float):
        raise _odd("auth_time")
    named = [_text(claims, name) for name in ("name", "preferred_username", "email", "sub")]
    return Answered(
        iss=_text(claims, "iss"),
        sub=_text(claims, "sub"),
        name=next(filter(None, named)),
        email=_text(claims, "email"),
        groups=tuple(groups),
        auth_time=int(at),
        nonce=_text(claims, "nonce"),
        **kept,
    )


def _text(claims: Mapping[str, Any], name: str) -> str:
    found = claims.get(name) or ""
    if not isinstance(found, str):
        raise _odd(name)
    return found


def _odd(name: str) -> ProviderRefused:
    return ProviderRefused(
        f"the answer's {name!r} is not what it must be.",
        remedy="Show this to whoever looks after the company's sign-in.",
    )
