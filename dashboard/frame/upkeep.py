"""What the running server does by itself, as a screen may show it and ask for it.

The server stands above the screens, so it puts here what they see of it.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Final, Protocol

VERIFY: Final = "verify the record"
ANCHOR: Final = "keep an anchor"
BACKUP: Final = "back up"


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One time that a job ran.

    Attributes
    ----------
    began, ended
        UTC without zone.
    by
        Who asked for it; empty if it was its time.
    good
        Whether it did what it should, and found nothing wrong.
    said
        What it did, or why it did not, in a sentence.
    """

    began: datetime
    ended: datetime
    by: str
    good: bool
    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """How it stands with a job.

    Attributes
    ----------
    when
        How often it runs, in words.
    upcoming
        When it runs next, UTC without zone.
    runs
        Newest first.
    busy
        Whether it runs now, or will as soon as another has ended.
    """

    job: str
    when: str
    upcoming: datetime
    runs: tuple[Run, ...]
    busy: bool

    @property
    def last(self) -> Run | None:
        """The newest run."""
        return self.runs[0] if self.runs else None

    @property
    def failed(self) -> Run | None:
        """The newest run that was not good."""
        return next((one for one in self.runs if not one.good), None)


class Upkeep(Protocol):
    """The server's schedule."""

    def told(self) -> tuple[Told, ...]:
        """Every job, in the order in which they stand."""

    def ask(self, job: str, *, by: str) -> None:
        """Have a job run as soon as no other does; returns at once."""

    @property
    def anchors(self) -> str:
        """Where anchors are kept, in words."""


_HELD: list[Upkeep] = []


def hold(upkeep: Upkeep) -> None:
    """Make a schedule the one that the screens of this process see."""
    _HELD[:] = [upkeep]


def release() -> None:
    """Forget it."""
    _HELD.clear()


def held() -> Upkeep | None:
    """The server's schedule; None where no server runs, as in a notebook."""
    return _HELD[0] if _HELD else None
