"""A stock-take stands as a whole or not at all."""

from pathlib import Path

import pytest

import demo_data
from spc.answers.blends.stocktake import COLUMNS, stocktake_counts
from spc.errors import IntakeError, InvalidInput, UnknownName
from tests.staff import ME

HEADER = ",".join(COLUMNS)


def taken(*lines):
    return "\n".join([HEADER, *lines, ""]).encode()


def left(store):
    return store.blends.stock().lots.set_index("lot")["available_kg"].to_dict()


def test_the_books_follow_the_count(small_store):
    found = stocktake_counts("take.csv", taken("L-1,3,25,12.5", "L-2,0,,0"))

    small_store.blends.take_stock(found, by=ME, reason="year's end")

    assert left(small_store) == {"L-1": 87.5, "L-2": 0.0}
    assert small_store.verify().ok


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (["L-1,3,25"], "line 2.*no count"),
        (["L-1,3,25,0", "L-2,-1,25,0"], "line 3.*no count"),
        (["L-1,three,25,0"], "line 2.*no count"),
        (["L-1,2,,0"], "line 2.*no count"),
    ],
)
def test_a_line_that_is_no_count_refuses_the_whole(lines, said):
    with pytest.raises(IntakeError, match=said):
        stocktake_counts("take.csv", taken(*lines))


@pytest.mark.parametrize("content", [b"", b"lot;bags\nL-1;3\n", b"\xff\xfe\x00"])
def test_what_is_no_such_table_is_refused(content):
    with pytest.raises(IntakeError, match="lot, bags, bag_kg, opened_kg"):
        stocktake_counts("take.csv", content)


def test_nothing_stands_when_one_lot_is_unknown_or_counted_twice(small_store):
    before = left(small_store)
    for lines, kind in (
        (["L-1,3,25,0", "L-9,1,25,0"], UnknownName),
        (["L-1,3,25,0", "L-1,2,25,0"], InvalidInput),
    ):
        with pytest.raises(kind):
            small_store.blends.take_stock(
                stocktake_counts("take.csv", taken(*lines)), by=ME, reason="year's end"
            )

    assert left(small_store) == before


def test_the_demo_s_stock_take_fits_the_demo(writable_demo):
    content = (Path(demo_data.__file__).parent / "stock_take.csv").read_bytes()

    writable_demo.blends.take_stock(stocktake_counts("take.csv", content), by=ME, reason="count")

    stock = writable_demo.blends.stock().lots
    assert 40 < (stock.loc[stock["barred"] == "", "available_kg"] > 0).sum() < 100
