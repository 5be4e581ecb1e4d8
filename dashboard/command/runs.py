"""`lotheat runs`: what the server does by itself, when it last did, and what failed."""

from collections.abc import Sequence
from typing import Final

import pandas as pd

from dashboard.command.terminal import (
    ERR,
    JsonOption,
    StoreOption,
    place,
    print_json,
    print_table,
)
from dashboard.frame.upkeep import Run
from dashboard.server import runs as kept

_COLUMNS: Final = ("job", "began", "by", "good", "said")


def runs(*, store: StoreOption = None, as_json: JsonOption = False) -> None:
    """List the newest run of each of the server's jobs, and its newest failure.

    They are kept beside the store, so this also tells them while no server runs.
    """
    known = kept.Runs(kept.place(place(store)))
    rows = [_row(job, run) for job in known.jobs() for run in _newest(known.of(job))]
    if as_json:
        print_json(rows)
        return
    print_table(pd.DataFrame(rows, columns=list(_COLUMNS)))
    if not rows:
        ERR.print("Nothing ran yet; `lotheat serve` does it.")


def _newest(every: Sequence[Run]) -> Sequence[Run]:
    """The newest run, and the newest that failed if that is another."""
    failed = next((one for one in every if not one.good), every[0])
    return every[:1] if failed == every[0] else (every[0], failed)


def _row(job: str, run: Run) -> dict[str, str]:
    return {
        "job": job,
        "began": f"{run.began:%Y-%m-%d %H:%M} UTC",
        "by": run.by or "itself",
        "good": "yes" if run.good else "no",
        "said": run.said,
    }
