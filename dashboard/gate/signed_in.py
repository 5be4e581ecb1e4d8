"""Who is signed in, as the gate and the screens need to know it."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

Way = Literal["machine", "account", "provider"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SignedIn:
    """A person whose session stands.

    Attributes
    ----------
    person
        What makes the person one and the same, whatever they are called: ``os:USER``, an account,
        or issuer and subject of a provider.
    name
        As it is shown and printed.
    roles
        What they are, in the words of the register.
    way
        How they came in.
    """

    person: str
    name: str
    roles: tuple[str, ...] = ()
    way: Way


# From the cookie's text to the person; None if no such session stands.
Lookup = Callable[[str], SignedIn | None]
