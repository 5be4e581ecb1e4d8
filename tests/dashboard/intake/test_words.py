"""What became of files, and what is held, in words that add up."""

from collections.abc import Hashable

import pandas as pd
import pytest

from dashboard.intake.words import files


def test_rows_in_are_stored_and_held_and_known(receipt):
    said = files.receipt(receipt(rows=45, stored=40, held=2, known=3, results=61))

    assert said == "march.csv: 45 rows = 40 stored + 2 held + 3 known (61 results)."


def test_new_lots_of_a_file_are_counted(receipt):
    assert "(60 results, 1 new lot)" in files.receipt(receipt(created_lots=("L-9",)))
    assert "(60 results, 2 new lots)" in files.receipt(receipt(created_lots=("L-8", "L-9")))


def test_one_row_with_one_result_is_singular(receipt):
    said = files.receipt(receipt(rows=1, stored=1, held=0, results=1))

    assert said == "march.csv: 1 row = 1 stored + 0 held + 0 known (1 result)."


@pytest.mark.parametrize(("rows", "said"), [(45, "45 rows known."), (1, "1 row known.")])
def test_a_file_that_came_before_changes_nothing(receipt, rows, said):
    text = files.receipt(receipt(rows=rows, stored=0, held=0, known=rows, again=True))

    assert text == f"march.csv was received before, and nothing changed: {said}"


def test_rows_that_waited_are_all_accounted_for(receipt):
    said = files.checked_again(receipt(rows=3, stored=1, known=1, held=1))

    assert said == (
        "march.csv checked again: of 3 rows that waited, 1 stored now, 1 known, 1 still held."
    )


def test_a_group_of_held_rows_is_one_line():
    group: dict[Hashable, object] = {"rows": 1, "name": "march.csv", "code": "unknown-lot"}

    assert files.held_group(group) == "1 row of march.csv: a lot that is not in the store"


def test_intake_tells_what_came_in_and_what_waits(demo_store):
    receipts, held = demo_store.receipts(), demo_store.held()

    said = files.intake(receipts, held)

    assert said.startswith(f"{len(receipts)} files with ")
    assert f"the last one {receipts['name'].iloc[0]}; {len(held)} rows still held." in said


def test_an_empty_store_is_told_what_to_begin_with():
    nothing = pd.DataFrame({"rows": [], "name": []})

    assert files.intake(nothing, nothing).startswith("Nothing has been received yet. Start with")
