"""What receiving a million rows costs, as a ratio to a bare typed insert of the same file.

Run as ``python -m tests.bench.bench_intake``; it is not part of the tests.  Yardstick: one
``insert ... select`` from the engine's own CSV reader into a table of the file's own columns with
their types, on disk and with the same threads; it checks nothing, keeps no way back, and leaves out
the rows that do not fit their types.  Bars of the issue: 4 times the yardstick, 1.5 GB of memory,
and 3 s for a workbook of 5,000 rows.  Each runs in a process of its own, so that its highest memory
is its own; reading and the steps after it are timed apart.  Of three rounds the middle one is told.
"""

import json
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import duckdb

from spc.store import Store
from spc.store.files import receiving
from spc.store.lots import results
from spc.store.record import receipts, seals
from tests.bench.intake_files import TYPES, make_long_file, make_store, make_workbook
from tests.staff import ME

BAR_RATIO, BAR_MEGABYTES, BAR_SECONDS = 4.0, 1_500, 3.0
ROUNDS = 3
STORE, LONG, WORKBOOK = "store.duckdb", "long.csv", "workbook.xlsx"

# Steps that are timed apart: what each does, where it is looked up, and its name there.
STEPS: Final[tuple[tuple[str, Any, str], ...]] = (
    ("reading", receiving, "read_by"),
    ("interpreting", receiving, "interpreted"),
    ("telling new from known", receiving, "sort_out"),
    ("writing results", results, "insert"),
    ("writing the file", receipts, "insert"),
    ("sealing", seals, "sealed"),
)

Figures = dict[str, Any]


def main() -> None:
    """Make the files, run each part in its own process, and print the ratios."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        make_store(folder / STORE, folder / "register.csv")
        make_long_file(folder / LONG)
        make_workbook(folder / WORKBOOK)
        size = (folder / LONG).stat().st_size / 1e6
        rounds = [(alone("insert", folder), alone(LONG, folder)) for _ in range(ROUNDS)]
        book = alone(WORKBOOK, folder)
    # The round in the middle: disk and processor are never twice the same.
    rounds.sort(key=lambda each: ratio_of(*each))
    bare, long = rounds[ROUNDS // 2]
    ratio = ratio_of(bare, long)
    after = (long["seconds"] - long["steps"]["reading"]) / bare["seconds"]
    print(  # noqa: T201
        f"{long['rows']:,} rows, {size:.0f} MB\n"
        f"bare insert  {bare['seconds']:.2f} s, {bare['megabytes']:,.0f} MB\n"
        f"received     {long['seconds']:.2f} s, {long['megabytes']:,.0f} MB, {ratio:.1f} times the"
        f" insert (bars: {BAR_RATIO:g} times, {BAR_MEGABYTES:,} MB), {after:.1f} without reading\n"
        f"  rounds: {', '.join(f'{ratio_of(*each):.1f}' for each in rounds)}\n"
        f"{told(long)}\n"
        f"workbook     {book['seconds']:.2f} s (bar: {BAR_SECONDS:g} s)\n"
        f"{told(book)}"
    )


def ratio_of(bare: Figures, long: Figures) -> float:
    """How many times the bare insert it took."""
    return float(long["seconds"] / bare["seconds"])


def told(figures: Figures) -> str:
    """What became of the rows, and the seconds of each step."""
    fates = ", ".join(f"{figures[fate]:,} {fate}" for fate in ("stored", "held", "known"))
    rest = figures["seconds"] - sum(figures["steps"].values())
    spent = {**figures["steps"], "the rest": rest}
    return f"  {fates}\n" + "\n".join(f"  {step:24}{took:6.2f} s" for step, took in spent.items())


def alone(part: str, folder: Path) -> Figures:
    """Run one part in a fresh process."""
    command = [sys.executable, "-m", "tests.bench.bench_intake", part, str(folder)]
    found = subprocess.run(command, stdout=subprocess.PIPE, check=True)
    figures: Figures = json.loads(found.stdout)
    return figures


def bare_insert(file: Path) -> Figures:
    """Time the yardstick."""
    columns = ", ".join(f'"{name}" {kind}' for name, kind in TYPES.items())
    types = ", ".join(f"'{name}': '{kind}'" for name, kind in TYPES.items())
    bare = file.with_name("bare.duckdb")
    bare.unlink(missing_ok=True)
    with duckdb.connect(bare) as database:
        database.execute(f"create table reading ({columns})")
        begun = time.perf_counter()
        database.execute(
            f"insert into reading select * from read_csv('{file}', header = true,"  # noqa: S608
            f" ignore_errors = true, columns = {{{types}}})"
        )
        seconds = time.perf_counter() - begun
    return {"seconds": seconds, "megabytes": peak_megabytes()}


def received(file: Path) -> Figures:
    """Time the taking in of a file into a copy of the store, and each of its steps."""
    spent = {step: 0.0 for step, *_ in STEPS}
    for step, where, name in STEPS:
        setattr(where, name, timed(getattr(where, name), spent, step))
    with Store.open(shutil.copy(file.with_name(STORE), file.with_suffix(".duckdb"))) as store:
        begun = time.perf_counter()
        receipt = store.receive(file, by=ME)
        seconds = time.perf_counter() - begun
    return {
        "seconds": seconds,
        "megabytes": peak_megabytes(),
        "rows": receipt.rows,
        "stored": receipt.stored,
        "held": receipt.held,
        "known": receipt.known,
        "steps": spent,
    }


def timed(work: Callable[..., Any], spent: dict[str, float], step: str) -> Callable[..., Any]:
    """The same work, which adds its seconds to `spent`."""

    def watched(*given: Any, **named: Any) -> Any:
        begun = time.perf_counter()
        try:
            return work(*given, **named)
        finally:
            spent[step] += time.perf_counter() - begun

    return watched


def peak_megabytes() -> float:
    """The highest memory of this process alone; what started it has no part in the figure."""
    status = Path("/proc/self/status").read_text("ascii")
    highest = re.search(r"VmHWM:\s+([0-9]+) kB", status)
    return float(highest.group(1)) / 1e3 if highest else float("nan")


if __name__ == "__main__":
    match sys.argv[1:]:
        case ["insert", folder]:
            print(json.dumps(bare_insert(Path(folder) / LONG)))  # noqa: T201
        case [name, folder]:
            print(json.dumps(received(Path(folder) / name)))  # noqa: T201
        case _:
            main()
