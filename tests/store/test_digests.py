"""A seal is the SHA-256 of the sorted lines of what a receipt brought, however it is computed."""

import pytest

from spc.store.record import digests
from tests.staff import ME, first_day

ROW = "{lot},1,{replicate},2026-03-04 10:00:00,0.1,10,1,{reading},µmol/L"
UNKNOWN = {"lot": "L-9", "replicate": 1, "reading": "5"}


def in_one_go(store, receipt):
    """The engine's own sorting, joining and hashing of the lines of one receipt."""
    lines = [
        f"select receipt, '{table} ' || json_array({columns})::varchar as line from {table}"  # noqa: S608
        for table, columns in digests._COLUMNS.items()
    ]
    every = " union all ".join([*lines, digests._LINES])
    query = f"""
        select sha256(string_agg(line, chr(10) order by line))
        from ({every})
        where receipt = $receipt
    """  # noqa: S608
    with store._connection.read() as cursor:
        return cursor.execute(query, {"receipt": receipt}).fetchone()[0]


def seals(store, receipt=""):
    with store._connection.read() as cursor:
        return digests.digests(cursor, receipt)


@pytest.mark.thorough
def test_every_seal_is_that_of_one_go(small_store, source_file):
    brought = {
        "register": ["L-3,cayenne powder,North Mill,2026-03-02,2025,40,25,39000,2026-02-20"],
        "sensor": [ROW.format(lot="L-3", replicate=1, reading="5"), ROW.format(**UNKNOWN)],
        "laboratory": ["L-3,2026-03-04,1000,<LOQ,0.7,absent"],
        "decisions": ["L-3,accepted,2026-03-06,Mara Quill,QA,ok"],
    }
    first_day(small_store, "2026-04-01")
    for source, rows in brought.items():
        content = source_file(source, *rows)
        small_store.receive_bytes(f"{source}.csv", content, by=ME)
    held = small_store.held()
    small_store.intake.dismiss(held["receipt"].iloc[0], [3], by=ME, reason="a trial run")

    every = seals(small_store)

    assert len(every) == len(small_store.receipts())
    for receipt, seal in every.items():
        assert seal == in_one_go(small_store, receipt)
        assert seals(small_store, receipt) == {receipt: seal}


def test_a_seal_is_one_however_few_lines_are_handed_over_at_a_time(
    small_store, source_file, monkeypatch
):
    rows = [ROW.format(lot="L-1", replicate=n, reading=f"{5 + n / 100:.2f}") for n in range(60)]
    rows += [ROW.format(lot="L-9", replicate=n, reading="n.d.") for n in range(60)]
    receipt = small_store.receive_bytes("s.csv", source_file("sensor", *rows), by=ME)
    sealed = in_one_go(small_store, receipt.receipt)

    for at_once in (1, 7, 2048, 100_000):
        monkeypatch.setattr(digests, "_AT_ONCE", at_once)
        assert seals(small_store)[receipt.receipt] == sealed
        assert seals(small_store, receipt.receipt) == {receipt.receipt: sealed}


def test_a_receipt_that_brought_nothing_has_no_seal(small_store):
    assert seals(small_store, "0" * 12) == {}


@pytest.mark.parametrize("source_row", [-1, 0, 1, 2, 3, 10**12])
def test_a_result_slipped_into_any_row_of_a_receipt_breaks_its_seal(
    small_store, source_file, source_row
):
    content = source_file("sensor", ROW.format(lot="L-1", replicate=1, reading="5"))
    receipt = small_store.receive_bytes("s.csv", content, by=ME).receipt
    before = seals(small_store, receipt)

    with small_store._connection.read() as cursor:
        cursor.execute("rollback")
        cursor.execute(
            "insert into result by name select * replace ($row as source_row) from result"
            " where receipt = $receipt limit 1",
            {"row": source_row, "receipt": receipt},
        )

    assert seals(small_store, receipt) != before
    assert not small_store.verify().ok
