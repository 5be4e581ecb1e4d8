"""What a number format shows of a stored number: its scale, its words, and its sign."""

from datetime import datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spc.workbooks.moment_codes import moment_of, shown_moment
from spc.workbooks.number_codes import sections, shown_number, shown_text


def shown(code: str, number: float) -> str:
    found = shown_number(code, number)
    return f"{found.before}{found.digits}{found.after}" + (" ?" if found.unlike else "")


@pytest.mark.parametrize(
    ("code", "number", "seen"),
    [
        ("General", 9.8123, "9.8123"),
        ("0.00", 9.8123, "9.8123"),
        ("#,##0", 41250, "41250"),
        ("0.0%", 0.082, "8.2%"),
        ("0 %", 0.082, "8.2 %"),
        ('0.0" %"', 8.2, "8.2 %"),
        ("%0.0", 0.07, "%7"),
        ("0.0,", 41250, "41.25"),
        ('0.00," kSHU"', 41250, "41.25 kSHU"),
        ('0.00" kSHU"', 41.25, "41.25 kSHU"),
        ("0,,.0", 41_250_000, "41.25"),
        ("0.0\\ \\S\\H\\U", 12, "12 SHU"),
        ('"<"0.0', 0.6, "<0.6"),
        ('[<0.5]"<LOQ";0.0', 0.3, "<LOQ"),
        ('[<0.5]"<LOQ";0.0', 0.7, "0.7"),
        ('0.0;-0.0;"n.d."', 0, "n.d."),
        ('0.0;-0.0;"n.d."', -1.5, "-1.5"),
        ("0.0_);(0.0)", -0.6, "-0.6"),
        ("0.0;[Red]0.0", -0.6, "0.6 ?"),
        (";;;", 9.8, "9.8 ?"),
        ("0;-0;;@", 0, "0 ?"),
        ("0000", 42, "0042"),
        ('"L-"0000', 42, "L-0042"),
        ("00-000", 12345, "12-345"),
        ("00-000", 12345.5, "12345.5 ?"),
        ('0"000"', 41.25, "41.25000 ?"),
        ('"1"0.0', 9.8, "19.8 ?"),
        ("# ?/?", 9.8, "9.8"),
        ("0.00E+00", 41250, "41250"),
        ("[$€-407] 0.00", 4.5, "€ 4.5"),
        ("[Red]0.0", 9.8, "9.8"),
        ('0" g/100 g"', 9, "9 g/100 g"),
        ("+0.0;-0.0", 0.4, "+0.4"),
        ('"ca. "General', 9.8, "ca. 9.8"),
        ("@", 9.8, "9.8"),
    ],
)
def test_a_number_is_read_at_the_scale_and_with_the_words_that_it_shows(code, number, seen):
    assert shown(code, number) == seen


@pytest.mark.parametrize(
    ("code", "text", "seen"),
    [("@", "L-1", "L-1"), ("General", "L-1", "L-1"), ('0;-0;0;"No. "@', "7", "No. 7")],
)
def test_a_text_is_read_with_the_words_that_its_format_puts_around_it(code, text, seen):
    assert shown_text(code, text) == seen


@given(
    st.decimals(-(10**9), 10**9, places=4),
    st.sampled_from([("0.0%", 100), ("0.00", 1), ("#,##0.0", 1), ('0.0," k"', Decimal("0.001"))]),
)
def test_what_is_shown_is_the_stored_number_at_another_scale_to_the_last_digit(number, form):
    code, factor = form

    found = shown_number(code, float(number))

    assert Decimal(found.digits) == Decimal(repr(float(number))) * factor


@given(st.text("0#?.,%;@\"\\[]<>=-+()_*/eEdmyhsGeneral €'x1", max_size=12), st.floats(-1e9, 1e9))
def test_no_format_is_too_strange_to_be_read(code, number):
    for section in sections(code):
        assert section.is_moment or shown_number(code, number).digits is not None


@pytest.mark.parametrize(
    ("code", "serial", "from_1904", "seen"),
    [
        ("yyyy-mm-dd", 46083, False, "2026-03-02"),
        ("m/d/yy", 46083, False, "2026-03-02"),
        ("dd.mm.yyyy", 44621, True, "2026-03-02"),
        ("dd.mm.yyyy", 46083.25, False, "2026-03-02 06:00:00"),
        ("dd/mm/yyyy hh:mm", 46083, False, "2026-03-02 00:00:00"),
        ("h:mm AM/PM", 46083.75, False, "18:00:00"),
        ("[h]:mm", 1.25, False, "30:00:00"),
        ("mmm yyyy", 46083, False, "Mar 2026"),
        ("yyyy", 46083, False, "2026"),
        ("dddd", 46083, False, "Monday"),
        ("d. mmmm", 46083, False, "2. March"),
        ("[$-407]d. mmm yyyy;@", 46083, False, "2026-03-02"),
        ("yyyy-mm-dd", 1, False, "1900-01-01"),
        ("yyyy-mm-dd", 61, False, "1900-03-01"),
    ],
)
def test_a_moment_is_read_whole_where_it_is_shown_whole_and_else_as_it_is_shown(
    code, serial, from_1904, seen
):
    moment = moment_of(serial, from_1904=from_1904)

    assert moment is not None
    assert shown_moment(sections(code)[0], moment, elapsed=timedelta(days=serial)) == seen


@pytest.mark.parametrize("serial", [-1.0, 60.0, 1e10])
def test_a_day_that_no_calendar_has_is_no_moment(serial):
    assert moment_of(serial, from_1904=False) is None


def test_minutes_are_told_from_months_by_what_stands_beside_them():
    moment = datetime(2026, 3, 2, 10, 45)  # noqa: DTZ001 - a workbook's dates have no zone

    (section,) = sections("hh:mm mm.yyyy")

    assert shown_moment(section, moment, elapsed=timedelta()) == "10:45 03.2026"
