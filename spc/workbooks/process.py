"""The process behind the wall, from the side that asks."""

import contextlib
import json
import os
import signal
import subprocess
import sys
import threading
from pathlib import Path
from typing import IO, Final

import spc
from spc.workbooks import protocol
from spc.workbooks.protocol import Asked

# How much longer than computing it may take.  Where the platform limits computing itself, this is
# only for one that waits for ever: on a busy machine a second of computing may take many.
_PATIENCE: Final = 3 if sys.platform == "win32" else 30
# A description of the longest sheet that is read takes less.
_LONGEST_ANSWER: Final = 1_000_000_000
_COMMAND: Final = (sys.executable, "-P", "-m", "spc.workbooks.worker")
_KEPT_OF_ENVIRONMENT: Final = ("SYSTEMROOT", "LD_LIBRARY_PATH", "PYTHONHOME")


class Broken(Exception):
    """The process ended before it had answered."""


class Process:
    """A running worker, used by one thread at a time."""

    def __init__(self) -> None:
        self._owner = os.getpid()
        self._is_last = False
        self._process = subprocess.Popen(  # noqa: S603 - our own module, by our own interpreter
            _COMMAND,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=_environment(),
            # Windows would open a window for it.
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )

    @property
    def is_usable(self) -> bool:
        """Whether it can be asked: it lives, is ours, and has not said that it ends."""
        return self._owner == os.getpid() and not self._is_last and self._process.poll() is None

    def answer(self, content: bytes, asked: Asked) -> tuple[bytes, ...]:
        """The frames of its answer; that it took too long is an answer, too.

        Raises
        ------
        Broken
            If it ended otherwise.
        """
        watch = threading.Timer(_PATIENCE * asked.seconds, self._process.kill)
        watch.daemon = True
        watch.start()
        try:
            frames = self._frames(content, asked)
        except OSError as problem:
            raise Broken from problem
        finally:
            watched = watch.is_alive()
            watch.cancel()
        if frames is not None:
            return frames
        late = not watched or self._process.wait() == -getattr(signal, "SIGXCPU", 0)
        if late:
            return (json.dumps({"kind": "refused", "why": "time", "about": ""}).encode(),)
        raise Broken

    def _frames(self, content: bytes, asked: Asked) -> tuple[bytes, ...] | None:
        """Every frame up to the last; none if the last never came."""
        asking, telling = self._pipes()
        protocol.ask(asking, asked, content)
        found: list[bytes] = []
        size = 0
        for frame in protocol.answer(telling):
            if frame.startswith(protocol.DONE):
                self._is_last = json.loads(frame)["last"]
                return tuple(found)
            size += len(frame)
            if size > _LONGEST_ANSWER:
                break
            found.append(frame)
        return None

    def _pipes(self) -> tuple[IO[bytes], IO[bytes]]:
        asking, telling = self._process.stdin, self._process.stdout
        if asking is None or telling is None:
            raise Broken
        return asking, telling

    def close(self) -> None:
        """End it, and wait until it has."""
        if self._owner != os.getpid():
            # After a fork it is the other's, who still asks it.
            return
        self._process.kill()
        for pipe in self._pipes():
            with contextlib.suppress(OSError):
                pipe.close()
        self._process.wait()


def _environment() -> dict[str, str]:
    """Where modules are found, and nothing that is secret."""
    kept = {name: os.environ[name] for name in _KEPT_OF_ENVIRONMENT if name in os.environ}
    places = [str(Path(spc.__file__).parent.parent), *filter(None, sys.path)]
    return {**kept, "PYTHONPATH": os.pathsep.join(places)}
