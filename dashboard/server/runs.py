"""The runs of the server's jobs, kept in a file beside the store.

Beside it and not in it: what a check found must not stand only in the file that it doubts, an
anchor must not lengthen the chain whose head it tells, and a store made again from a copy must not
say that it was verified yesterday.
"""

import json
import logging
import threading
from collections.abc import Iterable
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from dashboard.frame.upkeep import Run

_LOG: Final = logging.getLogger(__name__)

# Of each job the newest runs, and of those that failed some more.
_NEWEST: Final = 30
_FAILED: Final = 10


def place(store: Path) -> Path:
    """Where the runs of a store's server are kept."""
    return store.with_name(f"{store.name}.runs.json")


class Runs:
    """Runs by job, newest first; they outlive the process.

    A file that cannot be read is begun anew, which is told in the log: what it held is only about
    the jobs, and they run again.
    """

    def __init__(self, path: Path) -> None:
        self._path, self._lock = path, threading.Lock()
        self._first, self._runs = _read(path)

    def first_seen(self, job: str, *, now: datetime) -> datetime:
        """When a job was known first, which may be now."""
        with self._lock:
            if job not in self._first:
                self._first[job] = now
                self._write()
            return self._first[job]

    def of(self, job: str) -> tuple[Run, ...]:
        """The runs of a job, newest first."""
        with self._lock:
            return self._runs.get(job, ())

    def add(self, job: str, run: Run) -> None:
        """Keep a run."""
        with self._lock:
            self._runs[job] = _kept((run, *self._runs.get(job, ())))
            self._write()

    def jobs(self) -> tuple[str, ...]:
        """Every job that ever ran here, by name."""
        with self._lock:
            return tuple(sorted(self._runs))

    def _write(self) -> None:
        told = {
            job: {"first_seen": self._first.get(job), "runs": [asdict(one) for one in runs]}
            for job, runs in {**dict.fromkeys(self._first, ()), **self._runs}.items()
        }
        part = self._path.with_name(f"{self._path.name}.part")
        text = json.dumps(told, indent=1, default=datetime.isoformat)
        try:
            part.touch(mode=0o600)
            part.write_text(text, encoding="utf-8")
            part.replace(self._path)
        except OSError as problem:
            # A full disk passes; until then the runs are known in this process.
            _LOG.warning("%s cannot be written: %s", self._path, problem)


def _kept(runs: Iterable[Run]) -> tuple[Run, ...]:
    kept, failed = [], 0
    for number, run in enumerate(runs):
        failed += not run.good
        if number < _NEWEST or (not run.good and failed <= _FAILED):
            kept.append(run)
    return tuple(kept)


def _read(path: Path) -> tuple[dict[str, datetime], dict[str, tuple[Run, ...]]]:
    if not path.exists():
        return {}, {}
    try:
        told = json.loads(path.read_text(encoding="utf-8"))
        first = {job: _time(one["first_seen"]) for job, one in told.items() if one["first_seen"]}
        return first, {job: tuple(map(_run, one["runs"])) for job, one in told.items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as problem:
        _LOG.warning("%s cannot be read (%s) and is begun anew", path, problem)
        return {}, {}


def _run(told: dict[str, Any]) -> Run:
    times = {name: _time(told[name]) for name in ("began", "ended")}
    return Run(**{**told, **times})


def _time(text: str) -> datetime:
    return datetime.fromisoformat(text)
