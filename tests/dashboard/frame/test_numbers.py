import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.frame.numbers import plainly, understood
from spc.errors import InvalidInput


def read(text: str) -> float:
    return understood(text, "Batch (kg)", least=1.0, most=1e6)


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("500", 500.0),
        ("500,5", 500.5),
        ("500.5", 500.5),
        ("42000,5", 42_000.5),
        (" 42 000 ", 42_000.0),
        ("42'000,25", 42_000.25),
        ("12,1250", 12.125),
        ("12.125", 12.125),
    ],
)
def test_a_comma_stands_before_decimals_as_a_point_does(text, number):
    assert read(text) == number


@pytest.mark.parametrize("text", ["42,000", "-1,234"])
def test_what_could_be_a_thousand_times_more_is_refused(text):
    with pytest.raises(InvalidInput, match="can be read in two ways"):
        read(text)


@pytest.mark.parametrize("text", ["", "five", "1.234,5", "1e3", "5 00", "0x10", "12,", "500 kg"])
def test_what_is_no_number_is_refused_and_not_guessed(text):
    with pytest.raises(InvalidInput, match=r"^Batch \(kg\): .* is no number"):
        read(text)


def test_a_number_outside_of_what_the_field_takes_is_refused_with_its_ends():
    with pytest.raises(InvalidInput, match="from 1 to 1000000"):
        read("0,5")
    with pytest.raises(InvalidInput, match="no whole number"):
        understood("2,5", "Bags", least=0, most=10, whole=True)


@given(st.floats(1.0, 1e6).map(lambda one: float(f"{one:.8g}")))
def test_a_number_that_a_field_shows_is_the_one_it_reads(number):
    assert read(plainly(number)) == number
