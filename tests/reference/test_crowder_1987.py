"""Individuals and moving range together: published run lengths.

Crowder, S. V. (1987), Journal of Quality Technology 19(2): table 1 of pages 98 to 102, and the
printed listing of pages 103 to 106, both as retyped in the documentation of a public library; its
trapezoidal rule is good to 1 in 1000 in the listing, and with the table's coarser grid to 3 in
100 (the same rule, extrapolated below, gives our figures to nine digits).  Rigdon, S. E.,
Cruthis, E. N. and Champ, C. W. (1994), the same journal 26(4), 274-287, by simulation, from the
same place.
"""

import itertools

import numpy as np
import pytest
from scipy import stats

from spc import charts

SHIFTS = np.arange(9) / 4.0
LISTING = (18.2164, 16.3541, 12.4282, 8.7559, 6.1071, 4.3582, 3.2260, 2.4878, 1.9989)
TABLE = (34.44, 34.28, 34.07, 33.81, 33.45, 32.82, 31.50, 28.85, 24.49)


@pytest.mark.parametrize(("shift", "printed"), [*zip(SHIFTS, LISTING, strict=True)])
def test_limits_at_two_sigmas_with_ranges_to_three(shift, printed):
    found = charts.run_length_individuals(width=2.0, range_width=3.0, shift=shift)

    assert found == pytest.approx(printed, rel=1e-3)


@pytest.mark.parametrize(("shift", "printed"), [*zip(SHIFTS, TABLE, strict=True)])
def test_limits_at_four_sigmas_with_ranges_to_three(shift, printed):
    found = charts.run_length_individuals(width=4.0, range_width=3.0, shift=shift)

    assert found == pytest.approx(printed, rel=0.03)


@pytest.mark.parametrize(("width", "ranges", "printed"), [(2.992, 4.139, 200), (3.268, 4.556, 500)])
def test_limits_sought_for_a_round_run_length(width, ranges, printed):
    found = charts.run_length_individuals(width=width, range_width=ranges)

    assert found == pytest.approx(printed, rel=0.02)


@pytest.mark.parametrize(
    ("width", "ranges", "shift"), [(3.0, 3.75, 0.0), (2.0, 3.0, 0.5), (3.0, 1.5, 1.0)]
)
def test_the_same_to_nine_digits_by_trapezoids_extrapolated(width, ranges, shift):
    """Crowder's own rule; with limits on its grid its error is a series in the squared step."""
    row = [by_trapezoids(width, ranges, shift, 0.25 / 2**halved) for halved in range(6)]
    for order in range(1, 6):
        row = [
            fine + (fine - coarse) / (4.0**order - 1.0) for coarse, fine in itertools.pairwise(row)
        ]

    found = charts.run_length_individuals(width=width, range_width=ranges, shift=shift)

    assert found == pytest.approx(row[0], rel=1e-9)


def by_trapezoids(width, ranges, shift, step):
    lot = np.arange(-round(width / step), round(width / step) + 1) * step
    apart = np.abs(np.subtract.outer(np.arange(lot.size), np.arange(lot.size)))
    reach = round(ranges / step)
    # A point at an end of the interval of integration counts half; the limits are ends too.
    share = np.where(apart < reach, 1.0, np.where(apart == reach, 0.5, 0.0))
    share[:, [0, -1]] = np.where(apart[:, [0, -1]] < reach, 0.5, 0.0)
    chance = step * stats.norm.pdf(lot - shift)
    lengths = np.linalg.solve(np.eye(lot.size) - share * chance, np.ones(lot.size))
    return 1.0 + np.trapezoid(lengths * stats.norm.pdf(lot - shift), dx=step)


def test_without_a_limit_on_ranges_it_is_the_chart_of_lots_alone():
    found = charts.run_length_individuals(width=3.0, range_width=6.5, shift=0.7)

    assert found == pytest.approx(charts.run_length(("beyond limits",), 0.7), rel=1e-9)
