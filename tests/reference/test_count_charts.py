"""Counts and proportions as published.

NIST/SEMATECH e-Handbook of Statistical Methods (doi 10.18434/M32189), section 6.3.3.1, block
`c_chart_wafers` of refs/nist.md; and Montgomery, Introduction to Statistical Quality Control,
the frozen orange-juice cans (from memory; the printed answers follow from the data).
"""

import numpy as np
import pytest

from spc import charts

# fmt: off
DEFECTS = [
    16, 14, 28, 16, 12, 20, 10, 12, 10, 17, 19, 17, 14, 16, 15, 13, 14, 16, 11, 20, 11, 19, 16,
    31, 13,
]
LEAKING_CANS_OF_50 = [
    12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9,
    12, 7, 13, 9, 6,
]
# fmt: on


def test_defects_of_wafers_have_the_limits_of_section_6_3_3_1():
    limits = charts.counts(DEFECTS)

    assert limits.center == 16.0
    assert limits.upper == pytest.approx(28.0, rel=1e-15)
    assert limits.lower == pytest.approx(4.0, rel=1e-15)
    assert limits.size == 25


def test_only_wafer_24_lies_beyond_and_wafer_3_on_the_limit():
    limits = charts.counts(DEFECTS)

    assert (np.flatnonzero(limits.values > limits.upper) + 1).tolist() == [24]
    assert limits.values[2] == limits.upper[2]


def test_the_exact_limits_of_the_wafers_lie_further_up_than_three_sigmas():
    """A mean of 16 is skewed: P(X > 28) is 0.0022 and P(X > 29) 0.0012, P(X < 6) 0.0014."""
    limits = charts.counts(DEFECTS)

    assert (limits.exact_lower[0], limits.exact_upper[0]) == (5.0, 29.0)


def test_leaking_cans_have_the_printed_limits():
    limits = charts.proportions(LEAKING_CANS_OF_50, 50)

    assert limits.center == pytest.approx(0.2313, abs=5e-5)
    # Printed from the mean already rounded: one unit of the last digit.
    assert limits.upper == pytest.approx(0.4102, abs=1e-4)
    assert limits.lower == pytest.approx(0.0524, abs=1e-4)
    assert (np.flatnonzero(limits.values > limits.upper) + 1).tolist() == [15, 23]
