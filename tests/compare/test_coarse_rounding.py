"""Rounded coarsely is not made up: what most values are multiples of."""

import numpy as np
import pytest

from spc.compare.certificate_checks.coarse_rounding import coarse_rounding
from spc.compare.certificate_checks.printed_digits import printed_digits


def rounded(*texts):
    return coarse_rounding(printed_digits(texts))


def test_certificates_in_steps_of_five_hundred_are_seen_for_what_they_are():
    found = rounded("41500", "39000", "40500", "42000", "38500", "41000", "43500", "40000")

    assert (found.step, found.multiples, found.size) == (500.0, 8, 8)


def test_one_finer_value_does_not_hide_the_rounding():
    found = rounded("41500", "39000", "40500", "42000", "38500", "41000", "43100")

    assert found.step == 500.0
    assert found.multiples == 6


def test_decimals_are_rounded_too():
    assert rounded("9.50", "9.25", "10.00", "9.75", "9.25", "10.25").step == pytest.approx(0.25)


def test_values_as_fine_as_their_print_are_not_rounded():
    values = np.random.default_rng(4).integers(30_000, 50_000, 40)

    assert rounded(*(str(one) for one in values)) is None


@pytest.mark.parametrize("texts", [["500"] * 5, ["500"] * 20], ids=["few", "all equal"])
def test_too_few_values_or_one_value_say_nothing(texts):
    assert rounded(*texts) is None
