"""Secrets: what is refused as one, and their hashes by argon2id.

References
----------
RFC 9106 for argon2id; NIST SP 800-63B-4, 3.1.1.2, for what a secret must and must not be: length
counts, composition does not, and no secret may be the name of its owner.
"""

import hashlib
import itertools
import secrets
import threading
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from argon2 import PasswordHasher, extract_parameters
from argon2.exceptions import VerifyMismatchError

from spc.errors import SignInRefused

SHORTEST: Final = 12
_LONGEST: Final = 256
_FEWEST_SIGNS: Final = 5
_SHORTEST_NAME: Final = 4

# Each hash holds 64 MiB; a crowd at the door must wait rather than fill the memory.
_AT_ONCE: Final = threading.BoundedSemaphore(2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """Parameters of argon2id; RFC 9106, 4, second recommended option, unless told otherwise."""

    passes: int = 3
    memory_KiB: int = 65536  # noqa: N815 - a unit
    lanes: int = 4


STANDARD: Final = Cost()


def hashed(secret: str, cost: Cost = STANDARD) -> str:
    """The hash of a secret, with its salt and its parameters in one text."""
    with _AT_ONCE:
        return _hasher(cost).hash(_bytes(secret))


def matches(secret: str, encoded: str) -> bool:
    """Whether a secret is the one that was hashed."""
    try:
        with _AT_ONCE:
            return PasswordHasher().verify(encoded, _bytes(secret))
    except VerifyMismatchError:
        return False


def waste(secret: str, *, like: str, cost: Cost) -> None:
    """Take as long as `matches` takes, where there is no hash to compare with.

    Parameters
    ----------
    like
        A hash whose parameters are taken; if empty, those of `cost`.
    """
    hasher = PasswordHasher.from_parameters(extract_parameters(like)) if like else _hasher(cost)
    with _AT_ONCE:
        hasher.hash(_bytes(secret))


def refuse_weak(secret: str, *, names: Iterable[str]) -> None:
    """Refuse a secret that is short, monotonous or a name.

    Parameters
    ----------
    names
        Name, sign-in name and mail address of the person; none of their words may make up the
        secret.

    Raises
    ------
    SignInRefused
        With what is wrong with it; the secret itself is not repeated.
    """
    folded = _folded(secret)
    for wrong, what in (
        (len(folded) < SHORTEST, f"it has fewer than {SHORTEST} signs"),
        (len(folded) > _LONGEST, f"it has more than {_LONGEST} signs"),
        (len(set(folded.casefold())) < _FEWEST_SIGNS, "it repeats a few signs"),
        (_climbs(folded), "it is a row of neighbouring signs"),
        (_named(folded, names), "it is little more than the person's name"),
    ):
        if wrong:
            raise SignInRefused(
                f"this secret is too easy to guess: {what}.",
                where="secret",
                remedy=f"Choose {SHORTEST} signs or more, such as four words that do not belong"
                " together.",
            )


def code() -> str:
    """A key that nobody can guess: 32 random bytes as text."""
    return secrets.token_urlsafe(32)


def digest(key: str) -> str:
    """SHA-256 of a key or a text; what is kept of it."""
    return hashlib.sha256(key.encode("utf-8", "surrogatepass")).hexdigest()


def _folded(secret: str) -> str:
    """One spelling for what different keyboards send for the same letters."""
    return unicodedata.normalize("NFKC", secret)


def _bytes(secret: str) -> bytes:
    # Half a sign, which a program may send, is a wrong secret and no fault of the encoder.
    return _folded(secret).encode("utf-8", "surrogatepass")


def _hasher(cost: Cost) -> PasswordHasher:
    return PasswordHasher(
        time_cost=cost.passes, memory_cost=cost.memory_KiB, parallelism=cost.lanes
    )


def _climbs(secret: str) -> bool:
    """Whether most signs are the next or the one before of the sign before them."""
    steps = [ord(after) - ord(before) for before, after in itertools.pairwise(secret)]
    return sum(step in {1, -1} for step in steps) > len(steps) * 0.7


def _named(secret: str, names: Iterable[str]) -> bool:
    """Whether less than half of the shortest secret is left without the person's names."""
    left = secret.casefold()
    words = {
        word
        for name in names
        for word in (name.casefold(), *name.casefold().replace("@", " ").replace(".", " ").split())
        if len(word) >= _SHORTEST_NAME
    }
    for word in sorted(words, key=len, reverse=True):
        left = left.replace(word, "")
    return len(left) < SHORTEST // 2 and left != secret.casefold()
