"""Hours of spoiled files against intake as a whole; not a part of the test run.

Run it from the top folder::

    python -m tests.faults.fuzz_intake --seconds 3600 [--seed 1] [--kept FOLDER]

Each file is read, interpreted and sorted as a receipt does it, and every fortieth is received by a
store of its own.  A file fails if anything but a refusal is raised, if a row of it is neither
stored, held nor known, or is two of these, if a row fares otherwise by itself than among others, or
if it takes too long.  `--only 17` repeats file 17 of the seed.  Failed files are kept.
`test_spoiled_files.py` takes in a few of them with every test run.
"""

import argparse
import contextlib
import json
import random
import resource
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np
import pandas as pd

from spc.errors import IntakeError, UnreadableFile
from spc.intake import Batch, Known, SourceProfile, Table, interpret, read
from spc.intake.profiles import profile
from spc.store import Store
from spc.store.files.sorting import Sorted, sort_out
from spc.store.lots import lots
from tests.conftest import HEADERS, SMALL_CATALOGUE, SMALL_PROFILES, SMALL_REGISTER
from tests.faults.spoiled_files import SpoiledFile, spoiled_file
from tests.staff import ME

LONGEST_SECONDS: Final = 60
MOST_MEGABYTES: Final = 2_000
# Of how many files one is also received by a store, and has a row of it looked at by itself.
RECEIVED: Final = 40
ALONE: Final = 3
NOW: Final = np.datetime64("2026-11-20T12:00:00")
REFUSED: Final = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class Base:
    """A store that files are compared with, and what it holds; nothing is written to it."""

    store: Store
    known: Known
    identities: frozenset[str]


def base_of(store: Store) -> Base:
    """What a store holds that rows are compared with."""
    with store._connection.read() as cursor:
        names = lots.names(cursor)
    return Base(
        store=store,
        known=Known(catalogue=store.catalogue(), lots=names, now=NOW),
        identities=frozenset(store.results()["identity"]),
    )


def intake_of(base: Base, file: SpoiledFile) -> int:
    """How many rows of a file were told apart; `REFUSED` if it was refused as a whole.

    Raises
    ------
    AssertionError
        If a row was lost or is two things at once.
    """
    source = profile.parse(file.profile)
    try:
        table = read(file.content, source.form)
    except UnreadableFile as problem:
        # Only damage is refused; a row that says nonsense is held.
        if file.rows is not None and not _has_no_rows(file, source):
            raise AssertionError(f"a sound file was refused: {problem}") from problem
        return REFUSED
    if not source.headers <= set(table.headers):
        assert file.rows is None or _has_no_rows(file, source), table.headers
        return REFUSED
    batch = interpret(table, source, base.known)
    with base.store._connection.read() as cursor:
        fate = sort_out(cursor, batch)
    assert file.rows is None or len(batch.rows) == file.rows, (len(batch.rows), file.rows)
    _check_rows(batch, fate)
    _check_known(batch, fate, base)
    _check_held(table, fate.held)
    _check_results(fate.results)
    if len(batch.rows) % ALONE == 1:
        _check_alone(table, source, base.known, batch)
    return len(batch.rows)


def _has_no_rows(file: SpoiledFile, source: SourceProfile) -> bool:
    """An empty JSON list names no columns."""
    return source.form.kind.startswith("json") and file.rows == 0


def _check_rows(batch: Batch, fate: Sorted) -> None:
    rows, held = batch.rows, fate.held.index
    assert rows.is_unique
    assert held.is_unique
    assert fate.stored.is_unique
    assert held.isin(rows).all()
    assert fate.stored.isin(rows).all()
    assert fate.stored.intersection(held).empty
    kept = fate.lots.index.union(fate.results.index).union(fate.decisions.index)
    assert set(kept) == set(fate.stored)


def _check_known(batch: Batch, fate: Sorted, base: Base) -> None:
    """What is neither stored nor held says only what something stored says already."""
    known = batch.rows.difference(fate.stored).difference(fate.held.index)
    said = batch.lots.index.union(batch.results.index).union(batch.decisions.index)
    assert known.isin(said).all(), known.difference(said)
    mine = batch.results[batch.results.index.isin(known)]["identity"]
    assert mine.isin(base.identities | set(fate.results["identity"])).all()
    announced = batch.lots[batch.lots.index.isin(known)]["lot"]
    assert announced.isin({*base.known.lots} | set(fate.lots["lot"])).all()


def _check_held(table: Table, held: pd.DataFrame) -> None:
    """Each has a reason, says what to do, and shows the cells as they came."""
    for column in ("code", "reason", "remedy"):
        assert (held[column].str.strip() != "").all(), held[column]
    cells = table.cells.loc[held.index].to_numpy().tolist()
    for told, original in zip(cells, held["original"], strict=True):
        # What is beyond the header is shown only where there is something.
        expected = told if told[-1] else told[:-1]
        assert list(json.loads(original).values()) == expected


def _check_results(results: pd.DataFrame) -> None:
    low, high = results["value_low"].astype(float), results["value_high"].astype(float)
    assert results["identity"].is_unique
    assert np.isfinite(low).all()
    assert (low >= 0.0).all()
    assert (high >= low).all()
    assert (results["lot"].astype("str") != "").all()


def _check_alone(table: Table, source: SourceProfile, known: Known, batch: Batch) -> None:
    """A row is read by itself as it is among others."""
    row = random.Random(len(batch.rows)).choice(batch.rows)  # noqa: S311
    alone = interpret(replace(table, cells=table.cells.loc[[row]]), source, known)
    assert _told(alone, row) == _told(batch, row)


def _told(batch: Batch, row: int) -> str:
    """What one row says, as text: what is absent is not equal to itself otherwise."""
    held = batch.held[batch.held.index == row]["code"].tolist()
    frames = (batch.lots, batch.results, batch.decisions)
    said = [frame[frame.index == row].astype("str").to_dict("records") for frame in frames]
    return repr((held, said))


def receipt_of(store: Store, file: SpoiledFile) -> None:
    """Receive a file twice, and count what the store holds of it.

    Raises
    ------
    AssertionError
        If a row was lost, the second time changed anything, or the store does not verify.
    """
    store.receive_bytes("profile.toml", file.profile.encode(), by=ME)
    name = profile.parse(file.profile).profile
    try:
        receipt = store.receive_bytes(file.name, file.content, name, by=ME)
    except IntakeError:
        assert store.verify().ok
        return
    held, revision = store.held(receipt.receipt), store.receipts()
    assert receipt.rows == receipt.stored + receipt.held + receipt.known
    assert len(held) == receipt.held
    mine = [frame[frame["receipt"] == receipt.receipt] for frame in (store.results(), store.lots())]
    decided = store.dispositions()
    brought = {int(row) for frame in mine for row in frame["source_row"]}
    ours = decided["disposition"][decided["receipt"] == receipt.receipt]
    brought |= {int(name.rsplit("-", 1)[1]) for name in ours}
    assert len(brought) == receipt.stored
    assert not brought & set(held["source_row"])
    again = store.receive_bytes("again", file.content, name, by=ME)
    assert (again.rows, again.known, again.again) == (receipt.rows, receipt.rows, True)
    checked = store.intake.check_again(receipt.receipt, by=ME)
    assert (checked.rows, checked.stored) == (receipt.held, 0)
    assert len(store.receipts()) == len(revision)
    assert store.verify().ok


@contextlib.contextmanager
def within(seconds: int) -> Iterator[None]:
    """Stop what takes longer."""

    def late(*_: object) -> None:
        raise AssertionError(f"it took more than {seconds} s")

    signal.signal(signal.SIGALRM, late)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)


class Run:
    """What a run of many files has come to."""

    def __init__(self, small: Path, profiles: dict[str, str], kept: Path) -> None:
        self._small, self._profiles, self._kept = small, profiles, kept
        self._base = base_of(Store.open(small))
        self.counts: Counter[str] = Counter()

    def case(self, seed: int, number: int) -> None:
        """Make one file and take it in; a failure is kept and counted."""
        file = spoiled_file(seed, number, self._profiles)
        self.counts["files"] += 1
        try:
            with within(LONGEST_SECONDS):
                rows = intake_of(self._base, file)
                if number % RECEIVED == 0:
                    self._receive(file)
        except Exception:  # noqa: BLE001 - whatever escapes is what is looked for
            self.counts["failures"] += 1
            self._kept.mkdir(parents=True, exist_ok=True)
            (self._kept / file.name).write_bytes(file.content)
            text = f"{file.profile}\n{traceback.format_exc()}"
            (self._kept / f"{file.name}.txt").write_text(text)
            return
        self.counts["refused" if rows == REFUSED else "read"] += 1
        self.counts["rows"] += max(rows, 0)

    def _receive(self, file: SpoiledFile) -> None:
        with tempfile.TemporaryDirectory() as folder:
            path = shutil.copy(self._small, Path(folder) / "lots.db")
            with Store.open(path) as store:
                receipt_of(store, file)
        self.counts["received"] += 1


def main() -> int:
    """Take in files until the time is over; 1 if any failed."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--seconds", type=float, default=60.0)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--only", type=int)
    asked.add_argument("--kept", type=Path, default=Path("failed"))
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        small = Path(folder) / "small.db"
        with Store.open(small) as store:
            sources = {"catalogue.toml": SMALL_CATALOGUE, **SMALL_PROFILES}
            for name, text in sources.items():
                store.receive_bytes(name, text.encode(), by=ME)
            register = "\n".join([HEADERS["register"], *SMALL_REGISTER]).encode()
            store.receive_bytes("register.csv", register, by=ME)
        profiles = {name.removesuffix(".toml"): text for name, text in SMALL_PROFILES.items()}
        run = Run(small, profiles, given.kept)
        began, number = time.monotonic(), 0
        while time.monotonic() - began < given.seconds and given.only is None:
            run.case(given.seed, number)
            number += 1
            if number % 500 == 0:
                _report(run, began)
        if given.only is not None:
            run.case(given.seed, given.only)
        _report(run, began)
    return int(run.counts["failures"] > 0)


def _report(run: Run, began: float) -> None:
    megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000.0
    assert megabytes < MOST_MEGABYTES
    seconds = time.monotonic() - began
    sys.stdout.write(f"{dict(run.counts)} in {seconds:.0f} s, {megabytes:.0f} MB\n")
    sys.stdout.flush()


if __name__ == "__main__":
    raise SystemExit(main())
