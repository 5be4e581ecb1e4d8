"""A few of the spoiled files that `fuzz_intake.py` takes in for hours."""

import shutil

import pytest

from spc.store import Store
from tests.faults.fuzz_intake import base_of, intake_of, receipt_of
from tests.faults.spoiled_files import spoiled_file


@pytest.fixture(scope="module")
def profiles(small_sources):
    return {name.removesuffix(".toml"): text for name, text in small_sources.items()}


def test_no_row_of_a_spoiled_file_is_lost_and_nothing_but_a_refusal_escapes(
    small_store_file, profiles, tmp_path
):
    with Store.open(shutil.copy(small_store_file, tmp_path / "lots.db")) as store:
        base = base_of(store)

        rows = [intake_of(base, spoiled_file(0, number, profiles)) for number in range(20)]

    assert sum(max(0, told) for told in rows) > 1000


@pytest.mark.parametrize("number", [1, 4, 8])
def test_a_store_takes_a_spoiled_file_in_once(small_store_file, profiles, tmp_path, number):
    with Store.open(shutil.copy(small_store_file, tmp_path / "lots.db")) as store:
        receipt_of(store, spoiled_file(0, number, profiles))


def test_a_spoiled_file_can_be_made_again(profiles):
    assert spoiled_file(3, 5, profiles) == spoiled_file(3, 5, profiles)
