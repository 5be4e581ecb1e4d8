"""A process that takes a file in, to be killed while it does."""

import contextlib
from collections.abc import Iterator
from multiprocessing.connection import Connection
from multiprocessing.context import ForkServerProcess
from pathlib import Path

from spc.store import Store
from tests.forked import PROCESSES
from tests.staff import ME


def _take_in(store: Path, file: Path, told: Connection) -> None:
    with Store.open(store) as opened:
        told.send("ready")
        told.recv()
        opened.receive(file, by=ME)
        told.send("done")


@contextlib.contextmanager
def taking_in(store: Path, file: Path) -> Iterator[tuple[ForkServerProcess, Connection]]:
    """Another process with the store open, that has just begun to take in the file."""
    ours, theirs = PROCESSES.Pipe()
    process = PROCESSES.Process(target=_take_in, args=(store, file, theirs))
    process.start()
    try:
        assert ours.recv() == "ready"
        ours.send("go")
        yield process, ours
    finally:
        process.kill()
        process.join()
