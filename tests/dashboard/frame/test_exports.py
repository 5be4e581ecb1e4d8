"""Saved tables: numbers stay numbers, and no cell can start a formula."""

import csv
import io
from datetime import date, datetime

import numpy as np
import openpyxl  # type: ignore[import-untyped]
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.frame.exports import csv_bytes, xlsx_bytes

DANGEROUS = [
    "=1+1",
    "+1",
    "-1",
    "@cmd",
    "\tx",
    "\rx",
    "\nx",
    " =1+1",
    "\uff1d1+1",
    "=cmd|' /C calc'!A0",
]


def read(content):
    return list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")))


def sheet(frame, name="table"):
    return openpyxl.load_workbook(io.BytesIO(xlsx_bytes({name: frame})))[name]


@pytest.mark.parametrize("text", DANGEROUS)
def test_a_text_that_could_be_a_formula_gets_an_apostrophe_in_csv(text):
    (head,), (cell,) = read(csv_bytes(pd.DataFrame({text: [text]})))

    assert head == cell == f"'{text}"


@pytest.mark.parametrize("text", [one for one in DANGEROUS if one.isprintable()])
def test_a_text_that_could_be_a_formula_stays_a_marked_text_in_a_workbook(text):
    table = sheet(pd.DataFrame({text: [text]}))

    for cell in (table["A1"], table["A2"]):
        assert cell.value == text
        assert cell.data_type == "s"
        assert cell.quotePrefix


@given(st.text(alphabet="=+-@\t\r\n '\"abc1", max_size=12))
def test_no_text_whatever_begins_like_a_formula(text):
    _, (cell, _) = read(csv_bytes(pd.DataFrame({"a": [text], "b": ["x"]})))

    assert cell[:1] not in ("=", "+", "-", "@", "\t", "\r", "\n")
    assert cell in (text, f"'{text}"), "nothing else is changed"


def test_numbers_stay_numbers_even_below_zero():
    frame = pd.DataFrame({"share": [-0.25, np.nan], "lots": [3, 4]})

    assert read(csv_bytes(frame))[1:] == [["-0.25", "3"], ["", "4"]]
    table = sheet(frame)
    assert (table["A2"].value, table["A2"].data_type) == (-0.25, "n")
    assert (table["A3"].value, table["B3"].value) == (None, 4)


def test_dates_are_dates_and_moments_keep_their_time():
    frame = pd.DataFrame(
        {
            "received": pd.to_datetime(["2026-03-02", "2026-03-03"]),
            "day": [date(2026, 3, 2), None],
            "opened": pd.to_datetime(["2026-03-02 09:30", "2026-03-03 00:00"]),
        }
    )

    assert read(csv_bytes(frame))[1] == ["2026-03-02", "2026-03-02", "2026-03-02 09:30:00"]
    table = sheet(frame)
    assert table["A2"].value == datetime(2026, 3, 2)  # noqa: DTZ001 - a day has no zone
    assert table["A2"].number_format == "yyyy-mm-dd"
    assert table["C2"].number_format == "yyyy-mm-dd hh:mm:ss"
    assert table["B3"].value is None


def test_the_head_stays_in_sight_and_columns_are_as_wide_as_what_they_hold():
    table = sheet(pd.DataFrame({"supplier": ["Farrowmere Cooperative"], "lots": [28]}))

    assert table.freeze_panes == "A2"
    assert table["A1"].font.bold
    assert table.column_dimensions["A"].width > table.column_dimensions["B"].width >= 8
    assert sheet(pd.DataFrame({"why": ["long " * 400]})).column_dimensions["A"].width == 60


def test_an_endless_interval_is_said_and_not_an_error_of_the_spreadsheet():
    frame = pd.DataFrame({"high": [np.inf, -np.inf]})

    assert [row[0] for row in read(csv_bytes(frame))[1:]] == ["∞", "−∞"]
    assert [cell.value for cell in sheet(frame)["A"][1:]] == ["∞", "−∞"]


def test_the_same_tables_give_the_same_bytes():
    frame = pd.DataFrame({"lot": ["R26-0140"], "kg": [25.0]})

    assert xlsx_bytes({"lots": frame, "again": frame}) == xlsx_bytes(
        {"lots": frame, "again": frame}
    )


def test_a_spreadsheet_knows_the_signs_of_the_trade():
    content = csv_bytes(pd.DataFrame({"µg/kg": ["jalapeño"]}))

    assert content.startswith(b"\xef\xbb\xbf")
    assert read(content) == [["µg/kg"], ["jalapeño"]]


def test_a_name_that_no_sheet_may_have_is_mended():
    book = openpyxl.load_workbook(
        io.BytesIO(
            xlsx_bytes({"a/b: suppliers of ground habanero peppers": pd.DataFrame({"a": [1]})})
        )
    )

    assert book.sheetnames == ["a b  suppliers of ground habane"]


def test_a_control_sign_does_not_break_the_workbook():
    assert sheet(pd.DataFrame({"note": ["a\x07b"]}))["A2"].value == "a\N{REPLACEMENT CHARACTER}b"
