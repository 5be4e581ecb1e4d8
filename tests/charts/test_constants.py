import math

import numpy as np
import pytest

from spc import charts
from spc.errors import InvalidInput


def test_two_values_have_the_range_known_in_closed_form():
    assert charts.d2(2) == pytest.approx(2.0 / math.sqrt(math.pi), rel=1e-14)
    assert charts.d3(2) == pytest.approx(math.sqrt(2.0 - 4.0 / math.pi), rel=1e-14)


def test_three_values_have_a_mean_range_half_as_large_again():
    assert charts.d2(3) == pytest.approx(1.5 * charts.d2(2), rel=1e-14)


def test_two_values_have_a_standard_deviation_proportional_to_their_range():
    assert charts.c4(2) == pytest.approx(charts.d2(2) / math.sqrt(2.0), rel=1e-14)


@pytest.mark.parametrize("n", [2, 3, 10, 339, 340, 341, 1000, 1_000_000])
def test_neighbouring_standard_deviation_factors_multiply_to_a_plain_root(n):
    product = charts.c4(n) * charts.c4(n + 1)

    assert product == pytest.approx(math.sqrt((n - 1) / n), rel=4e-15)


def test_ranges_of_simulated_groups_agree_with_the_factors():
    groups = np.random.default_rng(1).standard_normal((200_000, 7))

    ranges = np.ptp(groups, axis=1)

    standard_error = charts.d3(7) / math.sqrt(ranges.size)
    assert ranges.mean() == pytest.approx(charts.d2(7), abs=3.0 * standard_error)
    assert ranges.std() == pytest.approx(charts.d3(7), abs=3.0 * standard_error)


def test_a_large_group_is_no_harder_than_a_small_one():
    """Extreme-value theory: the spread of the range falls like pi / sqrt(6 ln n)."""
    assert charts.d3(10**9) == pytest.approx(math.pi / math.sqrt(6 * math.log(10**9)), rel=0.05)


def test_a_numpy_integer_counts_as_a_whole_number():
    assert charts.d2(np.int64(5)) == charts.d2(5)


@pytest.mark.parametrize("factor", [charts.d2, charts.d3, charts.c4])
@pytest.mark.parametrize("n", [1, 0, -3, 2.0, 2.5, "2", [2]])
def test_a_group_without_spread_is_refused(factor, n):
    with pytest.raises(InvalidInput):
        factor(n)
