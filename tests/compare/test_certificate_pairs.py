import math
from typing import Any, cast

import numpy as np
import pandas as pd
import pytest

from spc.compare.certificate_checks.certificate_pairs import certificate_pairs
from spc.errors import InvalidInput, NotPositive, TooFewLots

TABLE: dict[str, Any] = {
    "declared": [41_000.0, 39_500.0, 44_000.0, math.nan, 40_500.0],
    "own": [40_000.0, math.nan, 42_000.0, 41_000.0, 39_000.0],
    "own_uncertainty": [0.05, math.nan, 0.05, 0.05, 0.06],
    "day": [30.0, 10.0, 20.0, 0.0, 5.0],
    "lot": ["L-3", "L-2", "L-1", "L-0", "L-4"],
}


def changed(**columns):
    return {**TABLE, **columns}


def test_lots_come_in_order_of_time_and_those_without_certificate_stay_out():
    found = certificate_pairs(TABLE, scale="log")

    assert found.lot.tolist() == ["L-4", "L-2", "L-1", "L-3"]
    assert found.declared.tolist() == [40_500.0, 39_500.0, 44_000.0, 41_000.0]
    assert found.printed == ("40500", "39500", "44000", "41000")
    assert found.paired().lot.tolist() == ["L-4", "L-1", "L-3"]
    assert found.paired().difference == pytest.approx(
        np.log([40_500 / 39_000, 44_000 / 42_000, 41_000 / 40_000])
    )


def test_a_frame_and_plain_arrays_are_read_alike():
    frame, arrays = (
        certificate_pairs(pd.DataFrame(TABLE), scale="linear"),
        certificate_pairs(TABLE, scale="linear"),
    )

    assert frame.declared_worked.tolist() == arrays.declared_worked.tolist()
    assert frame.lot.tolist() == arrays.lot.tolist()


def test_without_days_lots_keep_their_order_and_get_a_number():
    found = certificate_pairs(
        {name: TABLE[name] for name in ("declared", "own", "own_uncertainty")}, scale="linear"
    )

    assert found.lot.tolist() == ["1", "2", "3", "5"]
    assert np.isnan(found.day).all()
    assert np.isnan(found.declared_uncertainty).all()


@pytest.mark.parametrize(
    ("table", "error", "words"),
    [
        ({"declared": [1.0], "own": [1.0]}, InvalidInput, "no column own_uncertainty"),
        (changed(own=[1.0, 2.0]), InvalidInput, "own has 2 rows, and declared 5"),
        (changed(lot=["a"]), InvalidInput, "lot has 1 rows, and declared 5"),
        (changed(own=[math.inf] * 5), InvalidInput, "own holds an infinity"),
        (changed(own_sampling=[-0.1] * 5), InvalidInput, "own_sampling holds a value below zero"),
        (changed(day=[1.0, math.nan, 2.0, 3.0, 4.0]), InvalidInput, "a lot has no day"),
        (changed(own=[1.0, math.nan, math.nan, 1.0, 1.0]), TooFewLots, "3 lots, but 2 were"),
        (changed(own=[-1.0, 1.0, 1.0, 1.0, 1.0]), NotPositive, "-1"),
    ],
)
def test_a_table_that_cannot_be_read_is_refused_by_its_column(table, error, words):
    with pytest.raises(error, match=words):
        certificate_pairs(table, scale="log")


def test_an_unknown_scale_is_refused():
    with pytest.raises(InvalidInput, match="scale 'root'"):
        certificate_pairs(TABLE, scale=cast("Any", "root"))
