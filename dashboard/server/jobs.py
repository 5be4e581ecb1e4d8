"""The jobs of a server: the record verified, its anchor kept, and a copy made, every day.

Another job is one more line of `jobs`: a name, when, and what to do; it tells in a sentence what it
did, and raises a LotHeatError or an OSError where it could not.
"""

import contextlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time
from pathlib import Path
from typing import Final

from dashboard.frame import upkeep
from dashboard.frame.words import count
from dashboard.server import runs
from dashboard.server.anchoring import Anchoring, anchoring
from dashboard.server.schedule import Daily, Done, Job, Schedule
from spc.errors import ServerRefused
from spc.store import Store

# By night, where the machine is on; else when the server is started next.
_VERIFY: Final = Daily(time(2, 0))
_ANCHOR: Final = Daily(time(2, 30))
_BACKUP: Final = Daily(time(3, 0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """What is kept where.

    Attributes
    ----------
    anchors, key, authority
        See `anchoring`; a folder of None is the store's own.
    backups
        A folder that gets a copy of the store every day; None for none.
    """

    anchors: Path | None = None
    key: Path | None = None
    authority: str = ""
    backups: Path | None = None


def schedule(store: Store, keeping: Keeping) -> Schedule:
    """The jobs of a store's server, with the runs that were kept.

    Raises
    ------
    ServerRefused
        If a folder cannot be written to, or a key cannot be read.
    """
    kept = anchoring(
        store.path, folder=keeping.anchors, key=keeping.key, authority=keeping.authority
    )
    known = runs.Runs(runs.place(store.path))
    return Schedule(jobs(store, kept, backups=keeping.backups), known, anchors=kept.told)


def jobs(store: Store, kept: Anchoring, *, backups: Path | None) -> tuple[Job, ...]:
    """Every job, in the order in which they are shown."""
    return (
        Job(name=upkeep.VERIFY, when=_VERIFY, work=lambda: _verified(store, kept)),
        Job(name=upkeep.ANCHOR, when=_ANCHOR, work=lambda: kept.keep(store), at_once=True),
        *_copying(store, backups),
    )


def verified(checked: Mapping[str, int], faults: Sequence[str]) -> Done:
    """A check of the record in a sentence."""
    if faults:
        more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
        return Done(said=f"{faults[0].rstrip('.')}{more}.", good=False)
    entries = count(checked.get("audit entries", 0), "audit entry", "audit entries")
    return Done(
        said=f"nothing is wrong: {entries} and {count(checked.get('rows', 0), 'row')} checked."
    )


def _verified(store: Store, kept: Anchoring) -> Done:
    outcome = store.verify()
    return verified(outcome.checked, [*outcome.faults, *kept.against(store).faults])


def _copying(store: Store, folder: Path | None) -> Iterator[Job]:
    if folder is None:
        return
    with _usable(folder):
        folder.mkdir(parents=True, exist_ok=True)

    def copied() -> Done:
        # Local time, as whoever looks for a copy of last Tuesday reads it.
        moment = datetime.now().astimezone()
        path = folder / f"{store.path.stem}-{moment:%Y-%m-%d-%H%M%S}.duckdb"
        store.backup(path)
        return Done(said=f"the copy is {path.name}, its anchor beside it.")

    yield Job(name=upkeep.BACKUP, when=_BACKUP, work=copied, at_once=True)


@contextlib.contextmanager
def _usable(folder: Path) -> Iterator[None]:
    try:
        yield
    except OSError as problem:
        raise ServerRefused(
            f"copies cannot be kept there: {problem.strerror or problem}.",
            where=str(folder),
            remedy="Name a folder that you may write to.",
        ) from problem
