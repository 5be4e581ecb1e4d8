"""Lots reviewed, what is on record of one, and a number traced back to the bytes it came in."""

import pytest

from spc.answers.lots import held_rows_of_lot
from spc.answers.origins import origin_of_number
from spc.answers.review import review_lots
from spc.errors import UnknownName


def test_without_a_name_every_waiting_lot_is_reviewed_oldest_first(demo_store):
    waiting = demo_store.lots(waiting=True)

    found = review_lots(demo_store)

    assert list(found.lots.index) == list(found.verdicts) == waiting["lot"].tolist()
    assert found.lots["received_at"].is_monotonic_increasing
    assert found.today == demo_store.today()


def test_a_lot_asked_for_is_judged_as_the_store_judges_it(demo_store):
    found = review_lots(demo_store, ["R26-0140"])

    assert list(found.lots.index) == ["R26-0140"]
    assert found.verdicts["R26-0140"].sentence == demo_store.verdict("R26-0140").sentence


def test_an_unknown_lot_is_named(demo_store):
    with pytest.raises(UnknownName, match="R26-9999"):
        review_lots(demo_store, ["R26-9999"])


def test_held_rows_are_those_that_name_the_lot(demo_store):
    held = demo_store.held()
    lot = held.loc[held["lot"] != "", "lot"].iloc[0]

    mine = held_rows_of_lot(demo_store, lot)

    assert set(mine["lot"]) == {lot}
    assert len(mine) == (held["lot"] == lot).sum()


def test_a_number_is_traced_to_its_row_and_the_bytes_of_its_file(demo_store):
    result = demo_store.results("R26-0140").iloc[0]

    found = origin_of_number(demo_store, result["result"])

    assert found.file == result["file"]
    assert (found.file, found.content) == demo_store.receipt_bytes(result["receipt"])
    assert "R26-0140" in found.row.values()
    assert found.chain.value == pytest.approx(result["value_low"])
    assert found.mends.empty
