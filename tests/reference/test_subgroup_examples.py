"""Piston rings: 25 lots of five inside diameters, in mm, from Montgomery, Introduction to
Statistical Quality Control.

Data and printed answers are from memory (refs/tables.md 1e); the exact figures below were
recomputed there from the data, with the factors of section 1a.
"""

import numpy as np
import pytest

from spc import charts

# Thousandths of a mm above 74 mm.
# fmt: off
RINGS = 74.0 + np.array([
    [30, 2, 19, -8, 8], [-5, -8, 1, 11, 4], [-12, 24, 21, 5, 2], [2, -4, -7, 15, 9],
    [-8, 7, 15, -11, 14], [9, -6, -3, -15, -7], [-5, 6, -6, 0, 5], [-15, 3, -7, 15, -12],
    [8, -5, 9, 5, 4], [-2, 0, -10, 7, -5], [-6, -2, -6, -5, -10], [4, 0, 7, 0, -4],
    [-17, 2, -2, -3, 12], [6, -33, -6, 0, -16], [12, 14, -2, -1, 7], [0, -16, 5, -2, -4],
    [-6, 12, -14, 5, 7], [6, 10, 18, 3, 0], [-16, 2, 3, 5, -3], [0, 10, 13, 20, 3],
    [-18, 1, 15, 5, -4], [4, -1, -10, 6, 9], [10, -11, -10, 9, 14], [15, 8, -7, 0, 10],
    [-18, -16, -5, 17, 13],
]) / 1000.0
# fmt: on


def test_the_data_have_the_recomputed_averages():
    assert RINGS.mean() == pytest.approx(74.001176, abs=5e-7)
    assert np.ptp(RINGS, axis=1).mean() == pytest.approx(0.02324, abs=5e-6)


@pytest.mark.parametrize(
    ("spread", "sigma", "means", "upper"),
    [
        ("range", 0.009991707, (73.987770718, 74.014581282), 0.0491409596),
        ("standard deviation", 0.0099996041, (73.987760123, 74.014591877), 0.0196355021),
    ],
)
def test_limits_are_the_recomputed_ones_to_every_digit_given(spread, sigma, means, upper):
    """Recorded from factors of seven decimals: the last digit given may be off by one."""
    mean_limits, spread_limits = charts.subgroups(RINGS, spread=spread)

    assert mean_limits.within_sigma == pytest.approx(sigma, abs=1e-9)
    assert mean_limits.lower == pytest.approx(means[0], abs=1e-9)
    assert mean_limits.upper == pytest.approx(means[1], abs=1e-9)
    assert spread_limits.upper == pytest.approx(upper, abs=1e-9)
    assert spread_limits.lower == pytest.approx(0.0, abs=0.0)


def test_limits_are_the_printed_ones_within_their_rounding():
    by_range = charts.subgroups(RINGS, spread="range")
    by_deviation = charts.subgroups(RINGS)

    for means, _ in (by_range, by_deviation):
        assert means.lower == pytest.approx(73.988, abs=5e-4)
        # Printed 74.014 from factors already rounded; exact 74.0146.
        assert means.upper == pytest.approx(74.014, abs=7e-4)
    assert by_range[1].center == pytest.approx(0.023, abs=5e-4)
    assert by_range[1].upper == pytest.approx(0.049, abs=5e-4)
    assert by_deviation[1].center == pytest.approx(0.0094, abs=5e-5)
    assert by_deviation[1].upper == pytest.approx(0.0196, abs=5e-5)


def test_no_ring_of_the_example_lies_outside():
    means, spreads = charts.subgroups(RINGS)

    assert (np.abs(means.scores(RINGS.mean(axis=1))) < 3.0).all()
    assert (spreads.scores(RINGS.std(axis=1, ddof=1)) < 3.0).all()
