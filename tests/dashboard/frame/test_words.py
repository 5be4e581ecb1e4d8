"""Words of every room: single words, numbers, and where a number came from."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from dashboard.frame.words import (
    clock_behind,
    code,
    count,
    crop,
    day,
    interval,
    origin,
)
from spc.digits import THIN
from tests.staff import MY_NAME


@pytest.mark.parametrize(
    ("number", "noun", "plural", "said"),
    [
        (0, "lot", "", "0 lots"),
        (1, "lot", "", "1 lot"),
        (3, "lot", "", "3 lots"),
        (1, "delivery", "deliveries", "1 delivery"),
        (2, "delivery", "deliveries", "2 deliveries"),
    ],
)
def test_one_is_one_and_all_else_are_many(number, noun, plural, said):
    assert count(number, noun, plural) == said


def test_a_date_is_written_so_that_no_country_misreads_it():
    assert day(date(2026, 11, 3)) == "3 November 2026"
    assert day(pd.Timestamp("2026-03-12 23:59")) == "12 March 2026"


def test_a_clock_that_went_back_is_told_and_one_that_did_not_is_not_spoken_of():
    back = pd.Timestamp("2026-11-03 09:30:12")

    assert clock_behind(back) == " (the machine’s clock had gone back to 2026-11-03 09:30)"
    assert clock_behind(pd.NaT) == clock_behind(None) == ""  # type: ignore[arg-type]


def test_a_crop_that_is_not_known_is_not_named():
    assert crop(2026.0) == "crop 2026"
    assert crop(float("nan")) == ""


def test_a_hold_is_called_by_what_is_wrong_and_a_new_code_can_still_be_read():
    assert code("implausible-dilution") == "a dilution that cannot be right"
    assert code("unheard-of-thing") == "unheard of thing"


@pytest.mark.parametrize(
    ("low", "high", "unit", "said"),
    [
        (41_812.0, 41_812.0, "SHU", f"41{THIN}800 SHU"),
        (45_000.0, np.inf, "SHU", f"above 45{THIN}000 SHU"),
        (0.0, 0.5, "µg/kg", "below 0.500 µg/kg"),
        (1_700.0, 1_900.0, "SHU", f"1{THIN}700 to 1{THIN}900 SHU"),
        (0.0, 0.0, "in 25 g", "absent in 25 g"),
        (1.0, 1.0, "in 25 g", "detected in 25 g"),
    ],
)
def test_a_reading_is_no_more_exact_than_it_was(low, high, unit, said):
    assert interval(low, high, unit) == said


def test_a_number_says_where_it_came_from_and_what_an_open_reading_means(demo_store):
    every = demo_store.results()
    for qualifier, meaning in (("", ""), ("<", "an upper bound."), (">", "a lower bound.")):
        row = every[every["qualifier"] == qualifier].iloc[0]
        result, _, _ = demo_store.calculation(row["result"])

        said = origin(result)

        assert said.startswith(f"Row {row['source_row']} of {row['file']}, brought by {MY_NAME}")
        assert f"begins with {result['sha256'][:12]}." in said
        assert said.endswith(meaning)
        assert ("bound" in said) == bool(qualifier)
