import math

import numpy as np
import pytest
from scipy import special

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


@pytest.mark.parametrize("n", [*range(2, 26), 100, 1000])
def test_range_factors_agree_with_the_moments_of_the_density_of_the_range(n):
    """Trapezoids over the smallest value, one Gauss-Legendre rule over the range."""
    low = np.arange(-10.0, 10.0, 0.05)[:, None]
    node, weight = np.polynomial.legendre.leggauss(200)
    spread, weight = 8.0 * (node + 1.0), 8.0 * weight * 0.05
    inside = special.ndtr(low + spread) - special.ndtr(low)
    ends = np.exp(-(low**2 + (low + spread) ** 2) / 2.0) / (2.0 * math.pi)
    density = n * (n - 1) * (ends * inside ** (n - 2)).sum(axis=0)

    total, mean, square = (weight @ (density * spread**power) for power in (0, 1, 2))

    assert total == pytest.approx(1.0, rel=1e-12)
    assert charts.d2(n) == pytest.approx(mean, rel=1e-11)
    assert charts.d3(n) == pytest.approx(math.sqrt(square - mean**2), rel=1e-11)


@pytest.mark.parametrize("n", [*range(3, 26), 100, 340, 341, 1000, 5000])
def test_standard_deviation_factors_agree_with_their_recursion_from_two(n):
    factor = math.sqrt(2.0 / math.pi)
    for size in range(2, n):
        factor = math.sqrt((size - 1) / size) / factor

    assert charts.c4(n) == pytest.approx(factor, rel=1e-12)


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
