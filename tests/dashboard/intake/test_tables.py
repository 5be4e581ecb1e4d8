"""Files and held rows in tables: nothing is lost."""

from pathlib import Path

import pandas as pd
import pytest

import demo_data
from dashboard.frame.tables import held_table
from dashboard.intake.tables.files import held_groups, preview_held, preview_table, receipts_seen
from dashboard.today.tables import held_kinds
from tests.staff import ME


@pytest.fixture(scope="module")
def new_file():
    """A file of the sensor that the demo has not taken in."""
    file = Path(demo_data.__file__).parent / "new" / "2026-11-20_sensor.csv"
    return file.name, file.read_bytes()


def test_a_preview_says_what_rows_would_become_and_what_would_be_held(demo_store, new_file):
    taken, fate = demo_store.preview(*new_file, by=ME)

    results, held = preview_table(fate.results), preview_held(fate.held)

    assert len(results) == taken.results
    assert results["value"].str.endswith("SHU").all()
    assert len(held) == taken.held == 2
    assert held.columns.tolist() == ["row", "lot", "reason", "what to do", "as it came"]
    assert held["what to do"].str.endswith(".").all()
    assert "R26-0142" in held["as it came"].iloc[0]


def test_every_held_row_is_in_one_group_with_what_to_do(demo_store):
    held = demo_store.held()

    groups, kinds = held_groups(held), held_kinds(held)

    assert groups["rows"].sum() == kinds["rows"].sum() == len(held)
    assert groups["rows"].is_monotonic_decreasing
    assert held["remedy"].ne("").all()
    assert len(held_table(held)) == len(held)


def test_nothing_held_makes_empty_tables(small_store):
    held = small_store.held()

    assert held.empty
    assert held_groups(held).empty
    assert held_kinds(held).empty
    assert held_table(held).columns.tolist() == [
        *("file", "row", "lot", "reason", "what to do", "as it came")
    ]


def test_received_files_are_listed_newest_first_and_add_up(demo_store):
    table = receipts_seen(demo_store.receipts())

    assert table["received (UTC)"].is_monotonic_decreasing
    assert (table["rows"] == table["stored"] + table["held"] + table["known"]).all()
    assert "catalogue" in table["read as"].tolist(), "a file without a profile is named by its kind"
    assert (table["still held"] <= table["held"]).all()
    assert pd.api.types.is_integer_dtype(table["rows"])
