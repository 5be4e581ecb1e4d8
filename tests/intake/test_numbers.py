import math

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spc.intake.distinct import coded
from spc.intake.profiles.profile import FileForm
from spc.intake.table.dressed import own_units
from spc.intake.table.numbers import numbers

POINT = FileForm()
COMMA = FileForm(decimal=",")
FRENCH = FileForm(decimal=",", thousands="\N{NARROW NO-BREAK SPACE}")
GERMAN = FileForm(decimal=",", thousands=".")
ENGLISH = FileForm(thousands=",", missing=("", "-", "n.t."))


def texts(*cells: str) -> pd.Series:
    return pd.Series(cells, dtype="str")


def read(text: str, form: FileForm) -> tuple[float, str]:
    found = numbers(texts(text), form)
    assert not found.unreadable[0]
    assert not found.ambiguous[0]
    return float(found.value[0]), str(found.mark[0])


@pytest.mark.parametrize(
    ("text", "form", "value"),
    [
        ("12.5", POINT, 12.5),
        ("+12.5", POINT, 12.5),
        ("-0.25", POINT, -0.25),
        ("12,5", COMMA, 12.5),
        ("1.234,5", GERMAN, 1234.5),
        ("41,500", ENGLISH, 41_500.0),
        ("41500", ENGLISH, 41_500.0),
        ("1,234,567.8", ENGLISH, 1_234_567.8),
        ("1.5e3", POINT, 1500.0),
        ("1,5E-3", COMMA, 0.0015),
    ],
)
def test_a_number_is_read_by_the_signs_of_its_file(text, form, value):
    assert read(text, form) == (value, "")


@pytest.mark.parametrize(
    ("text", "mark"), [("<5", "<"), ("≤5", "<"), ("< 5", "<"), (">5", ">"), ("≥ 5", ">")]
)
def test_a_limit_keeps_its_mark(text, mark):
    assert read(text, POINT) == (5.0, mark)


@pytest.mark.parametrize("text", ["<LOQ", "< loq", "<LOD", "<QL"])
def test_a_text_can_say_below_the_limit_without_a_number(text):
    found = numbers(texts(text), POINT)

    assert found.below_limit[0]
    assert not found.unreadable[0]
    assert math.isnan(found.value[0])
    assert found.mark[0] == ""


@pytest.mark.parametrize("text", ["40.000", "1.125", "-7.500"])
def test_three_decimals_are_ambiguous_where_thousands_are_parted(text):
    found = numbers(texts(text), ENGLISH)

    assert found.ambiguous[0]
    assert math.isnan(found.value[0])
    assert not numbers(texts(text), POINT).ambiguous[0]


@pytest.mark.parametrize(
    ("text", "form", "value"),
    [
        ("0.125", ENGLISH, 0.125),
        ("0,500", GERMAN, 0.5),
        ("1,125", FRENCH, 1.125),
        ("40,000", FRENCH, 40.0),
    ],
)
def test_three_decimals_that_no_thousands_sign_explains_are_read(text, form, value):
    assert read(text, form) == (value, "")


@pytest.mark.parametrize(
    ("text", "form", "value", "mark"),
    [
        ("9.81%", POINT, 9.81, ""),
        ("9,81 %", COMMA, 9.81, ""),
        ("< 0,5 g/100 g", COMMA, 0.5, "<"),
        ("4.1 × 10^4", POINT, 41_000.0, ""),
        ("4,1·10⁴", COMMA, 41_000.0, ""),
        ("4.1x10^-2", POINT, 0.041, ""),
        ("0.6 ± 0.1", POINT, 0.6, ""),
        ("9,8 ± 0,1 %", COMMA, 9.8, ""),
        ("9.8 % +/- 0.1", POINT, 9.8, ""),
        ("41\N{NARROW NO-BREAK SPACE}500", POINT, 41_500.0, ""),
        ("\u0669\u066b\u0668", POINT, 9.8, ""),
        ("\uff19\uff0e\uff18", POINT, 9.8, ""),
        ("४२", COMMA, 42.0, ""),
    ],
)
def test_what_stands_around_a_number_and_leaves_one_reading_is_read(text, form, value, mark):
    found = numbers(texts(text), form, own=own_units("%"))

    assert not found.unreadable[0]
    assert float(found.value[0]) == pytest.approx(value)
    assert str(found.mark[0]) == mark


def test_a_profile_can_say_what_words_mean():
    form = FileForm(missing=("", "—"), below_limit=("n.d.", "trace"), above_range=("TNTC",))

    found = numbers(texts("N.D.", "trace", "tntc", "—", ">ULOQ"), form)

    assert found.below_limit.tolist() == [True, True, False, False, False]
    assert found.above_range.tolist() == [False, False, True, False, True]
    assert found.empty.tolist() == [False, False, False, True, False]
    assert not found.unreadable.any()


@pytest.mark.parametrize(
    "blank", [" ", "\N{NO-BREAK SPACE}", "\N{THIN SPACE}", "\N{NARROW NO-BREAK SPACE}"]
)
def test_blanks_that_part_thousands_need_not_be_the_very_blank_of_the_profile(blank):
    assert read(f"1{blank}234{blank}567,5", FRENCH) == (1_234_567.5, "")
    assert read(f"< 41{blank}500", FRENCH) == (41_500.0, "<")
    assert numbers(texts(f"12{blank}34", f"1{blank}{blank}234"), FRENCH).unreadable.all()
    # An ordinary blank may stand between two numbers.
    assert numbers(texts(f"41{blank}500"), COMMA).unreadable.all() == (blank == " ")


@pytest.mark.parametrize(
    "text",
    [
        *("n.d.", "NaN", "nan", "inf", "-inf", "Infinity", "five", "<", "<n.d.", "5 mg", "--5"),
        *("1,2,3", "1.2.3", "12,5", "41,50", ".5", "5.", "1e", "0x10", "1_000", "5\n6"),
        *("(0.6)", "—", "trace", "TNTC", "~18", "18*", "4.1 × 105", "0.6 ± ", "9.8 g", "5 kSHU"),
    ],
)
def test_what_is_no_number_is_not_made_one(text):
    found = numbers(texts(text), POINT)

    assert found.unreadable[0]
    assert math.isnan(found.value[0])


@pytest.mark.parametrize("text", ["1e999", "9" * 400, "1e-999", "1e16", "1e-16", "-1e40"])
def test_what_nothing_measures_is_not_a_reading(text):
    found = numbers(texts(text), POINT)

    assert found.unreadable[0]
    assert math.isnan(found.value[0])


def test_cells_that_mean_not_measured_are_empty_and_not_faulty():
    found = numbers(texts("", "-", "n.t.", "0"), ENGLISH)

    assert found.empty.tolist() == [True, True, True, False]
    assert not found.unreadable.any()


@settings(max_examples=60, deadline=None)
@given(st.floats(1e-9, 1e9), st.sampled_from([".", ","]))
def test_a_number_that_was_written_is_the_number_that_is_read(value, decimal):
    written = repr(value).replace(".", decimal)

    assert read(written, FileForm(decimal=decimal)) == (value, "")


@settings(max_examples=80, deadline=None)
@given(st.lists(st.text(max_size=12), max_size=6), st.sampled_from([POINT, GERMAN, ENGLISH]))
def test_every_text_is_either_a_number_or_told_apart(cells, form):
    found = numbers(texts(*cells), form)

    told = found.empty | found.below_limit | found.ambiguous | found.unreadable
    assert (told == found.value.isna()).all()


@settings(max_examples=100, deadline=None)
@given(
    st.lists(
        st.from_regex(r"-?[0-9]{1,18}(?:\.[0-9]{1,18})?(?:e-?[0-9])?", fullmatch=True),
        min_size=1,
        max_size=8,
    ),
    st.sampled_from([1, 3]),
)
def test_a_number_is_rounded_as_correctly_in_a_long_column_as_by_itself(cells, times):
    found = numbers(coded(texts(*cells * times)), POINT)

    read = found.value[~found.unreadable].tolist()
    usable = [float(cell) for cell in cells * times]
    assert read == [x for x in usable if x == 0.0 or 1e-15 <= abs(x) <= 1e15]
