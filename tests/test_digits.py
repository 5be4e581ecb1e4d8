import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spc.digits import THIN, percent, written


# JCGM 100:2008, 7.2.6: two digits of the uncertainty, and the value to the same place.
@pytest.mark.parametrize(
    ("value", "uncertainty", "text"),
    [
        (182_345.6, 9_100.0, "182 300"),
        (182_345.6, 12_000.0, "182 000"),
        (41_796.2, 123.0, "41 800"),
        (41_796.2, 12.3, "41 796"),
        (10.057, 0.0261, "10.057"),
        (9.4321, 0.15, "9.43"),
        (0.5, 0.05, "0.500"),
        (1_234_567.0, 0.9, "1 234 567.00"),
        (3.0, 4_000.0, "0"),
    ],
)
def test_a_value_is_rounded_to_the_second_digit_of_its_uncertainty(value, uncertainty, text):
    assert written(value, uncertainty=uncertainty) == text.replace(" ", THIN)


@pytest.mark.parametrize(
    ("uncertainty", "text"), [(9.94, "123.5"), (9.96, "123"), (0.0996, "123.46"), (99.6, "120")]
)
def test_an_uncertainty_that_rounds_up_to_a_power_of_ten_still_has_two_digits(uncertainty, text):
    assert written(123.456, uncertainty=uncertainty) == text


@pytest.mark.parametrize("uncertainty", [None, 0.0, math.inf])
def test_without_an_uncertainty_three_digits_are_shown(uncertainty):
    assert written(182_345.6, uncertainty=uncertainty) == f"182{THIN}000"
    assert written(0.012345, uncertainty=uncertainty) == "0.0123"
    assert written(9.996, uncertainty=uncertainty) == "10.0"
    assert written(0.0, uncertainty=uncertainty) == "0"


def test_a_unit_follows_its_number():
    assert written(41_796.0, unit="SHU") == f"41{THIN}800 SHU"


def test_thousands_are_held_together_by_a_space_that_does_not_break():
    assert written(1_234_000_000.0) == f"1{THIN}230{THIN}000{THIN}000"


@pytest.mark.parametrize(
    ("value", "text"),
    [(math.inf, "∞ SHU"), (-math.inf, "−∞ SHU"), (math.nan, "– SHU"), (-1_234.5, "−1 230 SHU")],
)
def test_what_is_negative_endless_or_missing_is_shown_as_such(value, text):
    assert written(value, unit="SHU") == text.replace(" 230", f"{THIN}230")


def test_nothing_is_left_of_a_negative_value_far_below_its_uncertainty_not_even_the_sign():
    assert written(-0.004, uncertainty=1.0) == "0.0"


def test_a_unit_with_a_hyphen_keeps_it():
    assert written(-5.0, uncertainty=1.0, unit="nonivamide-eq.") == "−5.0 nonivamide-eq."


@given(st.floats(-1e9, 1e9), st.floats(1e-3, 1e6))
def test_rounding_never_moves_a_value_by_a_tenth_of_its_uncertainty(value, uncertainty):
    text = written(value, uncertainty=uncertainty).replace(THIN, "").replace("−", "-")

    assert abs(float(text) - value) <= 0.0501 * uncertainty


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.5, "50 %"),
        (0.0523, "5.2 %"),
        (0.951, "95.1 %"),
        (0.9994, "over 99.9 %"),
        (0.0004, "under 0.1 %"),
        (1.0 - 1e-12, "over 99.9 %"),
        (1.0, "100 %"),
        (0.0, "0 %"),
    ],
)
def test_a_chance_is_not_rounded_to_certainty(share, text):
    assert percent(share) == text


@given(st.floats(0.0, 1.0, exclude_min=True, exclude_max=True))
def test_only_certainty_is_called_certain(share):
    assert percent(share) not in ("0 %", "0.0 %", "100 %", "100.0 %")
