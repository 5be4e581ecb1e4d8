"""Outliers of the e-Handbook (doi 10.18434/M32189), section 1.3.5.17 (refs/nist.md 12)."""

import numpy as np
import pytest

from spc import charts
from spc.charts.outlying import largest_deviate

# Rosner's 54 values; the handbook finds three outliers where ten are looked for.
# fmt: off
ROSNER = [
    -0.25, 0.68, 0.94, 1.15, 1.2, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58,
    1.65, 1.69, 1.7, 1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.1, 2.14, 2.15, 2.23,
    2.24, 2.26, 2.35, 2.37, 2.4, 2.47, 2.54, 2.62, 2.64, 2.9, 2.92, 2.92, 2.93, 3.21, 3.26, 3.3,
    3.59, 3.68, 4.3, 4.64, 5.34, 5.42, 6.01,
]
# fmt: on
CRITICAL = [3.158, 3.151, 3.143, 3.136, 3.128, 3.12, 3.111, 3.103, 3.094, 3.085]
URANIUM = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]


def test_rosner_s_three_outliers_are_found_though_two_hide_behind_the_third():
    """A fifth of 54 is ten, as in the handbook."""
    assert np.flatnonzero(charts.suggest(ROSNER).outlying).tolist() == [51, 52, 53]


def test_critical_values_are_the_printed_ones():
    """The page cuts at three decimals."""
    found = [largest_deviate(54 - taken, 0.05) for taken in range(10)]

    assert found == pytest.approx(CRITICAL, abs=1e-3)


def test_one_outlier_among_eight_is_found_by_grubbs():
    assert np.flatnonzero(charts.suggest(URANIUM).outlying).tolist() == [7]
    assert largest_deviate(8, 0.05) == pytest.approx(2.1266450871954667, rel=1e-12)
