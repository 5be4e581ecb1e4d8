"""A process that dies while it takes in a file leaves all of the file or none of it."""

import shutil
import time
from pathlib import Path

import pytest

from spc.store import Store
from tests.faults.taking_in import taking_in
from tests.staff import ME

ROWS = 20_000
# Parts of the time that the whole takes; the last fall where the transaction is committed.
MOMENTS = (0.05, 0.35, 0.65, 0.85, 0.95, 1.0)


@pytest.fixture(scope="module")
def big_file(tmp_path_factory, source_file) -> Path:
    path: Path = tmp_path_factory.mktemp("big") / "sensor.csv"
    rows = (
        f"L-{1 + n % 2},{n // 40},{n % 40},2026-03-04 10:00:{n % 60:02},0.1,10,10,"
        f"{8 + n % 17 / 10:.1f},µmol/L"
        for n in range(ROWS)
    )
    path.write_bytes(source_file("sensor", *rows))
    return path


def counts(path: Path) -> tuple[int, int]:
    """Results of the file, and its receipts, after the store proved whole."""
    with Store.open(path) as store:
        assert store.verify().faults == ()
        receipts = store.receipts()
        return len(store.results()) - 2, int((receipts["name"] == "sensor.csv").sum())


def test_a_killed_receipt_leaves_all_or_nothing(small_store_file, big_file, tmp_path):
    whole = Path(shutil.copy(small_store_file, tmp_path / "whole.db"))
    with taking_in(whole, big_file) as (process, told):
        began = time.monotonic()
        assert told.recv() == "done"
        takes = time.monotonic() - began
        process.join()
    assert counts(whole) == (ROWS, 1)

    found = []
    for number, moment in enumerate(MOMENTS):
        path = Path(shutil.copy(small_store_file, tmp_path / f"killed{number}.db"))
        with taking_in(path, big_file) as (process, _):
            time.sleep(takes * moment)
            process.kill()
            process.join()
        found.append(counts(path))

    assert set(found) <= {(0, 0), (ROWS, 1)}
    assert found[0] == (0, 0)


def test_a_store_whose_writer_was_killed_takes_the_file_in_afterwards(
    small_store_file, big_file, tmp_path
):
    path = Path(shutil.copy(small_store_file, tmp_path / "killed.db"))
    with taking_in(path, big_file) as (process, _):
        time.sleep(0.1)
        process.kill()
        process.join()

    with Store.open(path) as store:
        receipt = store.receive(big_file, by=ME)

        assert (receipt.rows, receipt.stored, receipt.again) == (ROWS, ROWS, False)
