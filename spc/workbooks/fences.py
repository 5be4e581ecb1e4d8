"""The limits that the process behind the wall lays on itself before it opens anything.

Where the platform knows no such limits, as on Windows, the wall's own on time and size still hold.
"""

import math
import os
import sys
import threading
import time
from pathlib import Path
from typing import Final

if sys.platform != "win32":
    import resource

# A sheet of a million rows in XLSX takes a fifth of it, one of 150,000 rows in ODS all.
MOST_MEMORY: Final = 2_000_000_000
# The pipes, and what the engines load when they are first needed.
MOST_FILES: Final = 32
# Memory that a process is not kept with: it would not give it back.
SWOLLEN: Final = 400_000_000


def raise_all() -> None:
    """Limit memory and open files for good, and forbid to write any."""
    if sys.platform != "win32":
        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
        resource.setrlimit(resource.RLIMIT_NOFILE, (MOST_FILES, MOST_FILES))
        resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def end_with_parent() -> None:
    """End when whoever asks has ended, also in the middle of a workbook."""
    threading.Thread(target=_watch, args=(os.getppid(),), daemon=True).start()


def _watch(parent: int) -> None:
    # A child whose parent has ended is given to another; Windows leaves it as it is, and there the
    # next word that cannot be told ends it.
    while os.getppid() == parent:
        time.sleep(1.0)
    os._exit(0)


def allow_seconds(seconds: int) -> None:
    """Let the process compute for so long from now on; then it is ended."""
    if sys.platform != "win32":
        used = resource.getrusage(resource.RUSAGE_SELF)
        _, most = resource.getrlimit(resource.RLIMIT_CPU)
        until = math.ceil(used.ru_utime + used.ru_stime) + seconds
        resource.setrlimit(resource.RLIMIT_CPU, (until, most))


def is_swollen() -> bool:
    """Whether the process has grown too large to be kept."""
    return _most_used() > SWOLLEN


def is_short_of_memory() -> bool:
    """Whether a failure may be for want of memory; not every engine says so."""
    return _most_used() > MOST_MEMORY // 2


def _most_used() -> int:
    """Bytes of memory that the process held at most; zero where the platform does not say."""
    if sys.platform == "win32":
        return 0
    if sys.platform == "linux":
        # Its usage begins there with what the parent held when it started this process.
        return _most_used_since_start()
    # In kilobytes, but on macOS in bytes.
    unit = 1 if sys.platform == "darwin" else 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit


def _most_used_since_start() -> int:
    told = Path("/proc/self/status").read_text(encoding="ascii", errors="replace")
    (line,) = (line for line in told.splitlines() if line.startswith("VmHWM:"))
    return int(line.split()[1]) * 1024
