import pytest
from hypothesis import given
from hypothesis import strategies as st

from spc.compare.certificate_checks.printed_digits import printed_digits
from spc.errors import InvalidInput


@pytest.mark.parametrize(
    ("texts", "place", "step", "last"),
    [
        (["41300", "42000", "38700"], 100.0, 100.0, [3, 0, 7]),
        (["41000", "42500", "38000"], 100.0, 500.0, [0, 5, 0]),
        (["9.40", "9.50", "10.00"], 0.01, 0.1, [0, 0, 0]),
        (["9.4", "10"], 0.1, 0.2, [4, 0]),
        (["41317", "40000"], 1.0, 1.0, [7, 0]),
        (["4.13E+4", "42000"], 100.0, 700.0, [3, 0]),
        (["-0.5", "0", "1.5"], 0.1, 0.5, [5, 0, 5]),
        (["0", "4000", "2000"], 1000.0, 2000.0, [0, 4, 2]),
    ],
)
def test_print_tells_place_step_and_last_digits(texts, place, step, last):
    found = printed_digits(texts)

    assert found.place == pytest.approx(place)
    assert found.step == pytest.approx(step)
    assert found.last_digit.tolist() == last


@given(st.lists(st.integers(1, 999), min_size=2, max_size=12), st.integers(-3, 3))
def test_every_value_is_a_multiple_of_the_step_and_the_step_of_the_place(numbers, exponent):
    found = printed_digits([f"{number}e{exponent}" for number in numbers])

    for number in numbers:
        count = number * 10.0**exponent / found.step
        assert count == pytest.approx(round(count))
    assert found.step / found.place == pytest.approx(round(found.step / found.place))


@pytest.mark.parametrize("text", ["41 300", "< 0.5", "", "NaN", "inf", "12,5"])
def test_what_is_no_plain_decimal_is_refused_by_its_text(text):
    with pytest.raises(InvalidInput, match=r"is not a plain decimal"):
        printed_digits(["1.0", text])


def test_zeros_alone_have_no_place():
    with pytest.raises(InvalidInput, match="differs from zero"):
        printed_digits(["0", "0"])
