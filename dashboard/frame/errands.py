"""Errands: what a screen wants done as soon as a person has given their secret for it.

The secret is typed on a page of the server's own and never comes to a screen; the screen leaves
here what is to be done, and finds here what came of it.
"""

import hashlib
import secrets
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from spc.store.people import Proof

# Begins the name of each, so that it is never taken for a request of the store.
_NAMED: Final = "errand:"
_LONGEST_S: Final = 900.0


@dataclass(slots=True, kw_only=True, eq=False)
class Errand:
    """Something to do for which a secret is asked.

    Attributes
    ----------
    title
        What is done, as a heading: ``Invite Ines Valbo``.
    told
        What else is shown above the secret: names with what is told under each.
    do
        Does it with the proof that the secret was given, and answers what came of it.
    key
        Of the session that may do it.
    answer
        What `do` answered.
    """

    title: str
    told: tuple[tuple[str, str], ...]
    do: Callable[[Proof], Any]
    key: str = field(repr=False)
    done: bool = False
    answer: Any = None
    since: float = field(default_factory=time.monotonic)

    @property
    def sha256(self) -> str:
        """Of what is shown, for a signature at the provider."""
        told = "\n".join((self.title, *(f"{name}: {text}" for name, text in self.told)))
        return hashlib.sha256(told.encode()).hexdigest()

    def carry_out(self, proof: Proof) -> None:
        """Do it, once."""
        if not self.done:
            self.answer = self.do(proof)
            self.done = True


_KEPT: dict[str, Errand] = {}
_LOCK: Final = threading.Lock()


def keep(errand: Errand) -> str:
    """Leave an errand; returns the name under which it is found.  Old ones are forgotten."""
    name, now = _NAMED + secrets.token_urlsafe(16), time.monotonic()
    with _LOCK:
        for old in [one for one, kept in _KEPT.items() if now - kept.since > _LONGEST_S]:
            del _KEPT[old]
        _KEPT[name] = errand
    return name


def is_one(names: Sequence[str]) -> bool:
    """Whether what is to be signed is an errand, and no requests of the store."""
    return len(names) == 1 and names[0].startswith(_NAMED)


def found(name: str, *, key: str) -> Errand | None:
    """The errand of that name, if it was left by this session."""
    with _LOCK:
        kept = _KEPT.get(name)
    return kept if kept is not None and kept.key == key else None


def forget(name: str) -> None:
    """Take an errand away: it is done, or will not be."""
    with _LOCK:
        _KEPT.pop(name, None)
