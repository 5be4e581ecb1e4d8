"""What receiving tells: every row is accounted for."""

from dashboard.server import replies
from tests.dashboard.programs import read_back


def test_a_program_gets_every_row_that_was_received(receipt, demo_store):
    held = demo_store.held().head(2).assign(receipt="0a1b2c3d4e5f")
    taken = receipt(created_lots=("L-8", "L-9"))

    told = read_back(replies.receipts_json([taken, taken], [], {"0a1b2c3d4e5f": held}))

    assert (told["rows"], told["stored"], told["held"], told["known"]) == (90, 86, 4, 0)
    assert told["created_lots"] == ["L-8", "L-9", "L-8", "L-9"]
    assert set(told["receipts"][0]["held_rows"][0]) == {
        *("source_row", "lot", "code", "reason", "remedy")
    }
    assert told["refused"] == []


def test_a_program_gets_a_refusal_with_its_reason():
    told = read_back(replies.receipts_json([], [{"file": "a.csv", "reason": "no table"}], {}))

    assert told["rows"] == 0
    assert told["refused"] == [{"file": "a.csv", "reason": "no table"}]


def test_rows_in_are_rows_out_in_every_line(receipt):
    table = replies.receipts_table([receipt(), receipt(rows=3, stored=0, held=0, known=3)])

    assert table["rows"].tolist() == [45, 3]
    assert (table["rows"] == table["stored"] + table["held"] + table["known"]).all()
