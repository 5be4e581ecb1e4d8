"""Critical ranges of repeated readings, ISO 5725-6:1994, 4.1.4, Table 1."""

import pytest
from scipy.stats import norm

from spc.acceptance.evidence.scatter import _critical_range

# Number of readings, factor as printed (from memory, not read again), and the 95 % quantile of
# the studentized range with known standard deviation that it is rounded from (computed).
FACTORS = [
    (2, 2.8, 2.7718),
    (3, 3.3, 3.3145),
    (4, 3.6, 3.6332),
    (5, 3.9, 3.8577),
    (6, 4.0, 4.0301),
    (7, 4.2, 4.1696),
    (8, 4.3, 4.2863),
    (9, 4.4, 4.3865),
    (10, 4.5, 4.4741),
]


@pytest.mark.parametrize(("readings", "printed", "exact"), FACTORS)
def test_factors_at_5_per_cent_are_those_of_table_1(readings, printed, exact):
    assert _critical_range(readings, 0.05) == pytest.approx(printed, abs=0.05)
    assert _critical_range(readings, 0.05) == pytest.approx(exact, abs=6e-5)


@pytest.mark.parametrize("risk", [0.05, 0.01, 0.01 / 6])
def test_the_range_of_two_is_a_difference_of_two(risk):
    """In closed form; 2.77 standard deviations are the repeatability limit of the standard."""
    assert _critical_range(2, risk) == pytest.approx(2.0**0.5 * norm.isf(risk / 2.0), rel=1e-7)
