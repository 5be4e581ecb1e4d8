"""Processes of their own, forked from one that has loaded the code and run none of it.

Each is a process like any other, with its own store, port, signals and end.  Only the four seconds
of loading are spent once, not before each.
"""

import multiprocessing
import os
import runpy
import sys
import warnings
from multiprocessing.connection import Connection
from typing import TextIO

PROCESSES = multiprocessing.get_context("forkserver")
PROCESSES.set_forkserver_preload(
    ["dashboard.command.lotheat", "dashboard.server.process", "altair", "tests.faults.taking_in"]
)


def _run(module: str, words: tuple[str, ...], told: Connection) -> None:
    os.dup2(told.fileno(), sys.stderr.fileno())
    told.close()
    sys.argv = [module, *words]
    # Loaded before, and run now: that is what it was loaded for.
    warnings.filterwarnings("ignore", category=RuntimeWarning, module="runpy")
    runpy.run_module(module, run_name="__main__")


class Forked:
    """A module run as a program, as `python -m` would.

    Attributes
    ----------
    stderr
        What it says there.
    """

    stderr: TextIO

    def __init__(self, module: str, *words: object) -> None:
        told, tells = PROCESSES.Pipe(duplex=False)
        self._process = PROCESSES.Process(target=_run, args=(module, tuple(map(str, words)), tells))
        self._process.start()
        tells.close()
        self.stderr = os.fdopen(os.dup(told.fileno()), encoding="utf-8")
        told.close()

    def poll(self) -> int | None:
        """The code that it ended with; None while it runs."""
        return self._process.exitcode

    def stop(self) -> None:
        """Ask it to end, and wait until it has."""
        self._process.terminate()
        self._process.join(60)
        self.stderr.close()
        assert self._process.exitcode is not None, "it did not end within a minute"
