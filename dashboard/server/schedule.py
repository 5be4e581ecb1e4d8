"""What the server does by itself: named jobs, each at its time, one after the other.

A job is looked for by the clock on the wall and not by counting seconds, so a machine that slept or
was off does what it missed, once, when it is on again.  A clock set back makes a job run once more
rather than never.
"""

import logging
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, time, timedelta
from typing import Final, Protocol

from dashboard.frame.upkeep import Run, Told
from dashboard.server.runs import Runs
from spc.errors import InvalidInput, LotHeatError

EVERY_S: Final = 20.0
_LOG: Final = logging.getLogger(__name__)

# A clock that is set right by less than this was not set back.
_SET_RIGHT: Final = timedelta(minutes=1)


class When(Protocol):
    """How often a job runs; all times are UTC without zone."""

    def upcoming(self, last: datetime) -> datetime:
        """The moment at which a job is due that ran last at `last`."""

    def __str__(self) -> str:
        """In words."""


@dataclass(frozen=True, slots=True)
class Daily:
    """Every day at a time of this machine's own clock."""

    at: time

    def upcoming(self, last: datetime) -> datetime:
        """The first such moment after `last`."""
        here = last.replace(tzinfo=UTC).astimezone().replace(tzinfo=None)
        due = datetime.combine(here.date(), self.at)
        due += timedelta(days=due <= here)
        return due.astimezone(UTC).replace(tzinfo=None)

    def __str__(self) -> str:
        return f"every day at {self.at:%H:%M}"


@dataclass(frozen=True, slots=True)
class Every:
    """Again and again, so long after it began last."""

    period: timedelta

    def upcoming(self, last: datetime) -> datetime:
        """When it has been so long."""
        return last + self.period

    def __str__(self) -> str:
        return f"every {self.period}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What a job did, in a sentence, and whether all is well."""

    said: str
    good: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """Something to be done by itself.

    Attributes
    ----------
    name
        What it does, such as ``verify the record``; its runs are kept under it.
    work
        Does it, and tells what it did; a LotHeatError or an OSError says why it did not.
    at_once
        Whether a job that never ran runs when the server starts, and not at its first time.
    """

    name: str
    when: When
    work: Callable[[], Done]
    at_once: bool = False


@dataclass(slots=True)
class Note:
    """What is to be kept of a run; one that nobody filled in says that it broke off."""

    said: str = "it broke off; the server's own messages say where."
    good: bool = field(default=False)

    def tell(self, done: Done) -> None:
        """Fill it in."""
        self.said, self.good = done.said, done.good


def utc() -> datetime:
    """The present moment by the machine's clock, UTC without zone."""
    return datetime.now(UTC).replace(tzinfo=None)


class Schedule:
    """Jobs, and when each ran.

    Parameters
    ----------
    anchors
        Where anchors are kept, in words; for the screens.
    clock
        Tells the moment, UTC without zone.
    """

    def __init__(
        self,
        jobs: Sequence[Job],
        runs: Runs,
        *,
        anchors: str = "",
        clock: Callable[[], datetime] = utc,
    ) -> None:
        self._jobs = {one.name: one for one in jobs}
        self.anchors, self._runs, self._clock = anchors, runs, clock
        self._turn, self._woken = threading.Lock(), threading.Event()
        self._asked: dict[str, str] = {}
        self._busy = ""

    def told(self) -> tuple[Told, ...]:
        """Every job, and how it stands with it."""
        now = self._clock()
        return tuple(
            Told(
                job=one.name,
                when=str(one.when),
                upcoming=max(self._due(one, now), now),
                runs=self._runs.of(one.name),
                busy=one.name == self._busy or one.name in self._asked,
            )
            for one in self._jobs.values()
        )

    def ask(self, job: str, *, by: str) -> None:
        """Have a job run as soon as no other does.

        Raises
        ------
        InvalidInput
            If there is no such job.
        """
        if job not in self._jobs:
            raise InvalidInput(
                f"nothing named {job!r} runs here.",
                where="schedule",
                remedy=f"Choose from: {', '.join(self._jobs)}.",
            )
        self._asked[job] = by
        self._woken.set()

    @contextmanager
    def noted(self, job: str, *, by: str = "") -> Iterator[Note]:
        """Keep how the block ends as a run of a job; no other runs meanwhile."""
        with self._turn:
            began, note, self._busy = self._clock(), Note(), job
            try:
                yield note
            except (LotHeatError, OSError) as problem:
                note.tell(Done(said=str(problem), good=False))
                raise
            finally:
                self._busy = ""
                run = Run(began=began, ended=self._clock(), by=by, good=note.good, said=note.said)
                self._runs.add(job, run)

    def look(self) -> int:
        """Run what was asked for and what is due; returns how many ran."""
        wanted = {one.name: "" for one in self._jobs.values() if self._is_due(one)}
        wanted |= {name: self._asked[name] for name in tuple(self._asked)}
        for name, by in wanted.items():
            # In a thread of its own, so that even what nobody foresaw ends this one job only.
            alone = threading.Thread(target=self._run, args=(self._jobs[name], by), name=name)
            alone.start()
            alone.join()
        return len(wanted)

    @contextmanager
    def running(self, *, every_s: float = EVERY_S) -> Iterator[None]:
        """Do what is due in the background for as long as the block lasts."""
        stop = threading.Event()
        looking = threading.Thread(target=self._looking, args=(stop, every_s), name="schedule")
        looking.start()
        try:
            yield
        finally:
            stop.set()
            self._woken.set()
            looking.join()

    def _looking(self, stop: threading.Event, every_s: float) -> None:
        while not stop.is_set():
            self._woken.clear()
            self.look()
            if not stop.is_set():
                self._woken.wait(every_s)

    def _run(self, job: Job, by: str) -> None:
        self._asked.pop(job.name, None)
        try:
            with self.noted(job.name, by=by) as note:
                note.tell(job.work())
        except (LotHeatError, OSError) as problem:
            _LOG.warning("%s: %s", job.name, problem)

    def _is_due(self, job: Job) -> bool:
        now = self._clock()
        return self._due(job, now) <= now

    def _due(self, job: Job, now: datetime) -> datetime:
        runs = self._runs.of(job.name)
        if not runs and job.at_once:
            return now
        last = runs[0].began if runs else self._runs.first_seen(job.name, now=now)
        return now if last - now > _SET_RIGHT else job.when.upcoming(last)
