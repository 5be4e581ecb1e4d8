"""Worked EWMA and CUSUM charts of the NIST/SEMATECH e-Handbook (doi 10.18434/M32189)."""

import numpy as np
import pytest

from spc import charts

# Section 6.3.2.4, EWMA: twenty values, weight 0.3, target 50, sigma 2.0539 from earlier data.
VALUES = [
    *(52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5),
    *(49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1),
]
EWMA = [
    *(50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33),
    *(50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99),
]
# Not printed; computed apart from the formula of the section.
HALF_WIDTHS = [1.84851, 2.256394, 2.431406, 2.512715, 2.551611, 2.570456]

# Section 6.3.2.3, CUSUM: means of four with target 325 and sigma 0.635, slack 0.3175 and
# decision height 4.1959 in the unit of the means; then the sums as printed.
MEANS = [
    *(324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600),
    *(324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350),
]
HIGH = [
    *(0.0, 0.0, 0.0, 0.0, 0.03, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0),
    *(3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04),
]
LOW = [0.0, 0.01, 0.0, 0.33, 0.0, 0.0, 0.56, 0.72, 0.17, 0.25, 0.31, *[0.0] * 9]
SIGMA = 0.635


def weighted(**options):
    return charts.ewma(VALUES, target=50.0, sigma=2.0539, weight=0.3, width=3.0, **options)


def cusum():
    return charts.cusum(
        MEANS, target=325.0, sigma=SIGMA, reference=0.3175 / SIGMA, decision=4.1959 / SIGMA
    )


def test_weighted_means_are_those_of_section_6_3_2_4():
    assert weighted().values == pytest.approx(EWMA, abs=0.005 + 1e-9)


def test_steady_limits_are_those_of_section_6_3_2_4():
    """The lower limit is printed as 47.4115, cut off from 47.41157."""
    chart = weighted(steady=True)

    assert chart.upper == pytest.approx(np.full(20, 52.5884), abs=5e-5)
    assert chart.lower == pytest.approx(np.full(20, 47.4115), abs=1e-4)
    assert not chart.signals.any()


def test_widening_limits_follow_the_formula_of_section_6_3_2_4():
    chart = weighted()

    assert chart.upper[:6] - 50.0 == pytest.approx(HALF_WIDTHS, abs=1e-6)
    assert chart.upper[-1] == pytest.approx(52.588431, abs=1e-6)
    assert not chart.signals.any()


def test_sums_are_those_of_section_6_3_2_3():
    """Some printed sums are ties such as 14.445, rounded either way."""
    chart = cusum()

    assert chart.high * SIGMA == pytest.approx(HIGH, abs=0.005 + 1e-9)
    assert chart.low * SIGMA == pytest.approx(LOW, abs=0.005 + 1e-9)


def test_the_upper_sum_signals_from_group_14_on_as_in_section_6_3_2_3():
    chart = cusum()

    assert np.flatnonzero(chart.signals).tolist() == list(range(13, 20))
    assert (chart.low_start == -1).all()


def test_the_shift_of_section_6_3_2_3_is_placed_at_group_13():
    assert cusum().high_start[13:].tolist() == [12] * 7
