"""A column worked on one distinct text at a time says what it would say row by row."""

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spc.intake.distinct import (
    coded,
    coded_columns,
    constant,
    decoded,
    glued,
    mapped,
    of_each,
    reworded,
    stacked,
)

CELLS = st.lists(st.text("ab|\\ µ1", max_size=3), max_size=12)


def column(cells, times=1):
    index = pd.Index(range(5, 5 + 2 * times * len(cells), 2), dtype="int64", name="source_row")
    return pd.Series(list(cells) * times, index=index, dtype="str")


def is_coded(texts):
    return isinstance(texts.dtype, pd.CategoricalDtype)


@pytest.mark.parametrize(("times", "pays"), [(1, False), (2, True), (5, True)])
def test_a_column_is_coded_where_its_texts_come_again(times, pays):
    assert is_coded(coded(column(["one", "two", "three"], times))) is pays


@settings(max_examples=40, deadline=None)
@given(CELLS, st.sampled_from([1, 3]))
def test_a_coded_column_is_read_as_a_plain_one(cells, times):
    plain = column(cells, times)

    long = of_each(coded(plain), lambda texts: texts.str.upper())

    pd.testing.assert_series_equal(long, plain.str.upper())


@settings(max_examples=40, deadline=None)
@given(CELLS, st.sampled_from([1, 3]))
def test_coding_and_decoding_give_the_texts_back(cells, times):
    frame = pd.DataFrame({"a": column(cells, times), "b": column(cells[::-1], times), "c": 1.5})

    back = decoded(coded_columns(frame, ["a", "b"]).assign(c=frame["c"]))

    pd.testing.assert_frame_equal(back, frame)


@settings(max_examples=40, deadline=None)
@given(CELLS, st.sampled_from([1, 3]))
def test_texts_are_glued_alike_whether_they_are_coded_or_not(cells, times):
    plain = column(cells, times)

    together = glued(["<", coded(plain), plain], by="|")

    assert together.tolist() == [f"<|{text}|{text}" for text in plain]


def test_a_text_without_a_name_is_mapped_to_nothing():
    for texts in (column(["x", "y", "z"]), column(["x", "y", "z"], 4)):
        found = mapped(coded(texts), {"x": "one", "y": "one"})

        assert found.isna().tolist() == (texts == "z").tolist()
        assert set(found.dropna()) == {"one"}


def test_two_texts_that_become_one_are_one():
    found = reworded(coded(column(["x", "X"], 3)), lambda texts: texts.str.casefold())

    assert found.tolist() == ["x"] * 6
    assert found.cat.categories.tolist() == ["x"]


def test_frames_coded_unlike_are_stacked_by_what_they_say():
    first = pd.DataFrame({"unit": coded(column(["mg/kg"], 4)), "value": 1.0})
    second = pd.DataFrame({"unit": constant("SHU", column(["a", "b"]).index), "value": 2.0})

    both = stacked([first, second])

    assert both["unit"].tolist() == ["mg/kg"] * 4 + ["SHU"] * 2
    assert both["value"].tolist() == [1.0] * 4 + [2.0] * 2
    assert both.index.tolist() == [*first.index, *second.index]
