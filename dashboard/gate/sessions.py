"""Sessions that live as long as the server does: who came in, kept by the hash of their key."""

import hashlib
import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from dashboard.gate.signed_in import SignedIn

LONGEST_S: Final = 12 * 3600.0


@dataclass(slots=True, kw_only=True)
class _Session:
    who: SignedIn
    begun: float
    seen: float


class Sessions:
    """Sessions in the memory of this process.

    Parameters
    ----------
    idle_s
        After how many seconds without a click a session ends; at the latest it ends after twelve
        hours.
    clock
        Seconds that only move forward.
    """

    def __init__(
        self, *, idle_s: float = LONGEST_S, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._idle_s, self._clock = idle_s, clock
        self._kept: dict[str, _Session] = {}
        self._lock = threading.Lock()

    def begin(self, who: SignedIn) -> str:
        """Let a person in; returns the key that their browser keeps."""
        key, now = secrets.token_urlsafe(32), self._clock()
        with self._lock:
            self._forget(now)
            self._kept[digest(key)] = _Session(who=who, begun=now, seen=now)
        return key

    def who(self, key: str) -> SignedIn | None:
        """Whose session this is; None if it has ended, or never was."""
        now = self._clock()
        with self._lock:
            found = self._kept.get(digest(key))
            if found is None or self._over(found, now):
                return None
            found.seen = now
            return found.who

    def end(self, key: str) -> None:
        """End a session, in every tab and every copy of its cookie."""
        with self._lock:
            self._kept.pop(digest(key), None)

    def _over(self, session: _Session, now: float) -> bool:
        return now - session.seen > self._idle_s or now - session.begun > LONGEST_S

    def _forget(self, now: float) -> None:
        self._kept = {key: one for key, one in self._kept.items() if not self._over(one, now)}


def digest(key: str) -> str:
    """What is kept of a key: enough to know it again, too little to use it."""
    return hashlib.sha256(key.encode()).hexdigest()
