"""A hundred short files of mess: what is stored is what a person reads there, and no more."""

import shutil
from pathlib import Path

import pytest

from spc.store import Store
from tests.intake.mess.more import CASES, CATALOGUE, PROFILES, Case
from tests.staff import ME


@pytest.fixture(scope="module")
def store(small_store_file, tmp_path_factory):
    """One store for all: each case is a file of its own, looked at and not taken in."""
    path: Path = tmp_path_factory.mktemp("more") / "lots.db"
    with Store.open(shutil.copy(small_store_file, path)) as opened:
        opened.receive_bytes("more.toml", CATALOGUE.encode(), by=ME)
        for name, text in PROFILES.items():
            opened.receive_bytes(f"{name}.toml", text.encode(), by=ME)
        yield opened


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_what_is_stored_is_what_a_person_reads(store: Store, case: Case):
    receipt, fate = store.preview(f"{case.name}.csv", case.text.encode(), by=ME)

    found = fate.results.assign(row=fate.results.index)
    told = tuple(
        f"{one.row} {one.lot} {one.sample} {one.value_high:.10g}" for one in found.itertuples()
    )
    assert (told, tuple(fate.held.index)) == (case.results, case.asked)
    assert receipt.profile == case.source
    assert receipt.rows == receipt.stored + receipt.held + receipt.known


def test_there_are_a_hundred_of_them():
    assert len({case.name for case in CASES}) == len(CASES) >= 100
