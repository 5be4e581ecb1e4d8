"""Messy files as sources send them, each received by a real store; see mess/README.md."""

import functools
import shutil
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from spc.errors import IntakeError
from spc.store import Store
from tests.intake.mess.books import BUILT
from tests.staff import ME

MESS = Path(__file__).parent / "mess"
EXPECTED = tomllib.loads((MESS / "receipts.toml").read_text(encoding="utf-8"))


def named(entry: dict[str, Any]) -> str:
    return str(entry["name"])


# A workbook says when it was saved: built twice, it is two files.
@functools.cache
def content(name: str) -> bytes:
    return BUILT[name]() if name in BUILT else (MESS / "files" / name).read_bytes()


@pytest.fixture(scope="module")
def mess_file(small_store_file, tmp_path_factory) -> Path:
    """The small store with the profiles of these files, and three more lots; closed."""
    path: Path = tmp_path_factory.mktemp("mess") / "lots.db"
    with Store.open(shutil.copy(small_store_file, path)) as store:
        for profile in sorted((MESS / "profiles").glob("*.toml")):
            store.receive(profile, by=ME)
        store.receive(MESS / "files" / "00_register.csv", by=ME)
    return path


@pytest.fixture
def store(mess_file, tmp_path) -> Iterator[Store]:
    with Store.open(shutil.copy(mess_file, tmp_path / "lots.db")) as opened:
        yield opened


def told(store: Store, receipt: str) -> list[str]:
    """What a file brought, a line a result."""
    results = store.results()
    mine = results[results["receipt"] == receipt]
    return [_line(one) for one in mine.sort_values(["source_row", "result"]).itertuples()]


def _line(one: Any) -> str:
    at = "no time" if pd.isna(one.measured_at) else f"{one.measured_at:%Y-%m-%d %H:%M:%S}"
    who = f"{one.source_row}: {one.lot}" + (f" {one.sample}" if one.sample else "")
    unit = "" if one.unit == "in 25 g" else f" {one.unit}"
    low, high = f"{one.value_low:.6g}", f"{one.value_high:.6g}"
    value = low if low == high else f"{low} to {high}"
    return f"{who}, {one.characteristic} {value}{unit}, {at}"


@pytest.mark.parametrize("expected", EXPECTED["file"], ids=named)
def test_every_row_of_a_messy_file_is_stored_held_or_known_as_it_must_be_and_only_once(
    store, expected
):
    if "after" in expected:
        store.receive(MESS / "files" / expected["after"], by=ME)

    receipt = store.receive_bytes(expected["name"], content(expected["name"]), by=ME)

    held = store.held(receipt.receipt)
    assert receipt.profile == expected["profile"]
    assert receipt.rows == expected["rows"]
    assert (receipt.stored, receipt.known) == (expected["stored"], expected["known"])
    assert receipt.rows == receipt.stored + receipt.held + receipt.known
    codes = [f"{row}: {code}" for row, code in zip(held["source_row"], held["code"], strict=True)]
    assert codes == expected.get("held", [])
    assert told(store, receipt.receipt) == expected.get("results", [])
    assert store.verify().ok

    before = store.revision()
    again = store.receive_bytes("copy", content(expected["name"]), by=ME)

    assert (again.rows, again.known) == (receipt.rows, receipt.rows)
    assert store.revision() == before


@pytest.mark.parametrize("expected", EXPECTED["refused"], ids=named)
def test_a_file_that_is_no_table_is_refused_as_a_whole_and_says_what_to_do(store, expected):
    results, held = len(store.results()), len(store.held())

    with pytest.raises(IntakeError) as caught:
        store.receive_bytes(
            expected["name"], content(expected["name"]), expected.get("profile"), by=ME
        )

    assert (caught.value.what, caught.value.remedy) == (expected["what"], expected["remedy"])
    assert (len(store.results()), len(store.held())) == (results, held)


def test_every_file_of_the_folder_has_its_receipt():
    listed = {named(one) for group in EXPECTED.values() for one in group}

    on_disk = {file.name for file in (MESS / "files").iterdir()} - {"00_register.csv"}

    assert listed == on_disk | set(BUILT)
    assert len(listed) >= 36
