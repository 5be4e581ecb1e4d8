"""Parquet files: every column as a person would have typed it."""

import io
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spc.errors import UnreadableFile
from spc.intake.profiles.profile import FileForm
from spc.intake.readers import SURPLUS, limits, read

FILE = FileForm(kind="parquet")


def parquet(columns: dict[str, object], rows_a_group: int = 1_000) -> bytes:
    out = io.BytesIO()
    pq.write_table(pa.table(columns), out, row_group_size=rows_a_group)
    return out.getvalue()


def refused(content: bytes) -> UnreadableFile:
    with pytest.raises(UnreadableFile) as caught:
        read(content, FILE)
    assert caught.value.remedy
    return caught.value


@pytest.mark.parametrize(
    ("values", "texts"),
    [
        (["L-1", " L-2 ", None, ""], ["L-1", "L-2", "", ""]),
        (pa.array(["a", "b", "a"]).dictionary_encode(), ["a", "b", "a"]),
        (pa.array([b"L-1", None]), ["L-1", ""]),
        ([1, -2, None], ["1", "-2", ""]),
        ([7.0, 0.1, 1e20, 1e-7, None], ["7", "0.1", "1e+20", "1e-7", ""]),
        (pa.array([0.1, 7.25], pa.float32()), ["0.1", "7.25"]),
        ([float("nan")], ["nan"]),
        ([Decimal("12.50")], ["12.50"]),
        ([True, False, None], ["true", "false", ""]),
        ([date(2026, 3, 2)], ["2026-03-02"]),
        ([time(8, 15)], ["08:15:00"]),
        ([datetime(2026, 3, 2, 10, 30), None], ["2026-03-02 10:30:00", ""]),  # noqa: DTZ001
        ([datetime(2026, 3, 2, 10, 30, 0, 5000)], ["2026-03-02 10:30:00.005000"]),  # noqa: DTZ001
        ([None, None], ["", ""]),
    ],
)
def test_a_column_of_any_type_is_text(values, texts):
    assert read(parquet({"x": values}), FILE).cells["x"].tolist() == texts


def test_a_moment_with_a_zone_is_told_in_the_time_of_the_source():
    content = parquet({"t": [datetime(2026, 7, 2, 10, 30, tzinfo=UTC), None]})

    cells = read(content, FileForm(kind="parquet", time_zone="Europe/Berlin")).cells

    assert cells["t"].tolist() == ["2026-07-02T12:30:00+02:00", ""]


def test_numbers_are_written_with_the_sign_of_the_profile_and_texts_left_alone():
    content = parquet({"x": [1.125], "d": [Decimal("2.50")], "t": ["1.125"]})

    cells = read(content, FileForm(kind="parquet", decimal=",", thousands=".")).cells

    assert cells.iloc[0].tolist() == ["1,125", "2,50", "1.125", ""]


def test_structures_are_taken_apart_and_named_with_dots():
    unit = pa.struct({"name": pa.string()})
    heat = pa.array(
        [{"value": 5.5, "unit": {"name": "SHU"}}, None],
        pa.struct({"value": pa.float64(), "unit": unit}),
    )

    table = read(parquet({"lot": ["L-1", "L-2"], "heat": heat}), FILE)

    assert table.headers == ("lot", "heat.value", "heat.unit.name")
    assert table.cells.to_numpy().tolist() == [["L-1", "5.5", "SHU", ""], ["L-2", "", "", ""]]


def test_rows_are_counted_through_the_groups_of_the_file():
    table = read(parquet({"lot": [f"L-{n}" for n in range(10)]}, rows_a_group=3), FILE)

    assert table.cells["lot"].to_dict() == {n + 1: f"L-{n}" for n in range(10)}


def test_a_file_without_rows_has_its_headers():
    table = read(
        parquet({"lot": pa.array([], pa.string()), "heat": pa.array([], pa.int64())}), FILE
    )

    assert table.headers == ("lot", "heat")
    assert table.cells.empty
    assert (table.cells.dtypes == "str").all()


def test_a_text_that_stands_in_every_row_is_counted_before_it_is_written_out(monkeypatch):
    monkeypatch.setattr(limits, "LARGEST_UNPACKED_MB", 1)
    content = parquet({"remark": ["x" * 1_000] * 2_000}, rows_a_group=2_000)

    assert len(content) < 10_000
    assert refused(content).what == "it unpacks to more than 1 MB."


@pytest.mark.parametrize(
    ("limit", "value", "what"),
    [
        ("MOST_COLUMNS", 1, "2 columns"),
        ("MOST_CELLS", 9, "more than 9 cells"),
        ("MOST_ROW_GROUPS", 1, "2 row groups"),
        ("LARGEST_UNPACKED_MB", 0.00001, "it unpacks to more than"),
        ("LONGEST_CELL", 2, "a cell of row 2 has more than 2 characters"),
    ],
)
def test_a_file_beyond_a_limit_is_refused_for_that_reason(monkeypatch, limit, value, what):
    content = parquet({"lot": ["L", "L-2", "L", "L", "L"], "heat": [1, 2, 3, 4, 5]}, rows_a_group=3)
    monkeypatch.setattr(limits, limit, value)

    assert what in refused(content).what


@pytest.mark.parametrize(
    ("columns", "what"),
    [
        ({"x": [b"\xff\xfe"]}, "Invalid UTF8"),
        ({"x": [timedelta(seconds=5)]}, "'x' holds duration[us]"),
        ({"x": [[5.1, 5.2]]}, "'x' holds list"),
        ({"x": [{"y": [{"z": 1}]}]}, "'x.y' holds list"),
        ({"x": pa.array([[("a", 1)]], pa.map_(pa.string(), pa.int64()))}, "'x' holds map"),
        ({"x": ["a\0b"]}, "a cell of row 1 holds the sign NUL"),
        ({"x\0": ["a"]}, "the name of a column is no text"),
    ],
)
def test_what_is_no_text_is_refused(columns, what):
    assert what in refused(parquet(columns)).what


def test_structures_may_not_nest_without_end():
    value: object = 1
    for _ in range(9):
        value = {"a": value}

    assert "more than 8 deep" in refused(parquet({"x": [value]})).what


def test_a_damaged_file_is_read_or_refused_and_never_worse():
    good = parquet({"lot": [f"L-{n}" for n in range(50)], "heat": np.arange(50) / 7})
    chance = np.random.default_rng(20261120)
    for _ in range(150):
        damaged = bytearray(good)
        for place in chance.integers(0, len(good), 3):
            damaged[place] = chance.integers(0, 256)
        try:
            table = read(bytes(damaged), FILE)
        except UnreadableFile:
            continue
        assert SURPLUS in table.cells


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.one_of(st.none(), st.text(st.characters(categories=["L", "N"]), max_size=4)),
            st.one_of(st.none(), st.integers(-(2**63), 2**63 - 1)),
            st.one_of(st.none(), st.floats(allow_nan=False, allow_infinity=False)),
        ),
        min_size=1,
        max_size=12,
    ),
    st.integers(1, 5),
)
def test_every_row_of_the_file_is_a_row_of_the_table(rows, rows_a_group):
    lot, count, heat = ([*column] for column in zip(*rows, strict=True))
    columns = {
        "lot": pa.array(lot, pa.string()),
        "count": pa.array(count, pa.int64()),
        "heat": pa.array(heat, pa.float64()),
    }

    cells = read(parquet(columns, rows_a_group), FILE).cells

    assert cells.index.tolist() == list(range(1, len(rows) + 1))
    assert cells["lot"].tolist() == [text or "" for text in lot]
    assert cells["count"].tolist() == ["" if n is None else str(n) for n in count]
    # The text of a number is another number's only if it was rounded.
    assert [float(text) if text else None for text in cells["heat"]] == heat


@pytest.mark.parametrize("dictionary", [True, False])
def test_a_text_whose_bytes_are_damaged_is_refused_and_not_met_later(dictionary):
    out = io.BytesIO()
    table = pa.table({"Lot": ["Gerät", "L-1"]})
    pq.write_table(
        table, out, compression="none", use_dictionary=dictionary, write_statistics=False
    )
    damaged = out.getvalue().replace("ä".encode(), b"\xff\xa4")

    assert "damaged one" in refused(damaged).what
