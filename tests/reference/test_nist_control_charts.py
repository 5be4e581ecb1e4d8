"""Printed figures of the NIST/SEMATECH e-Handbook of Statistical Methods (doi 10.18434/M32189)."""

import math

import numpy as np
import pytest

from spc import charts

# Section 6.3.2.1, factors for mean and range charts as printed: group size, A2, D3, D4.
FACTORS = [
    (2, 1.880, 0.0, 3.267),
    (3, 1.023, 0.0, 2.575),
    (4, 0.729, 0.0, 2.282),
    (5, 0.577, 0.0, 2.115),
    (6, 0.483, 0.0, 2.004),
    (7, 0.419, 0.076, 1.924),
    (8, 0.373, 0.136, 1.864),
    (9, 0.337, 0.184, 1.816),
    (10, 0.308, 0.223, 1.777),
]

# Section 6.3.2.2, individuals chart: flowrate of ten batches, in order.
FLOWRATE = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]


@pytest.mark.parametrize(("size", "a2", "d3", "d4"), FACTORS)
def test_ranges_give_the_factors_of_section_6_3_2_1(size, a2, d3, d4):
    """Printed from rounded d2 and d3: agreement within one unit of the third decimal."""
    relative = 3.0 * charts.d3(size) / charts.d2(size)

    assert 3.0 / (charts.d2(size) * math.sqrt(size)) == pytest.approx(a2, abs=1e-3)
    assert max(0.0, 1.0 - relative) == pytest.approx(d3, abs=1e-3)
    assert 1.0 + relative == pytest.approx(d4, abs=1e-3)


def test_the_standard_deviation_of_ten_has_the_factor_of_section_6_3_2():
    assert charts.c4(10) == pytest.approx(0.9727, abs=5e-5)


def test_individuals_limits_are_those_of_section_6_3_2_2():
    """The handbook rounds d2 to 1.128; undo that, then agree to every printed digit."""
    limits = charts.individuals(FLOWRATE, width=3.0 * charts.d2(2) / 1.128)

    assert limits.center == pytest.approx(50.81, abs=5e-5)
    assert limits.upper == pytest.approx(55.8041, abs=5e-5)
    assert limits.lower == pytest.approx(45.8159, abs=5e-5)


def test_no_batch_of_section_6_3_2_2_lies_outside():
    scores = charts.individuals(FLOWRATE).scores(FLOWRATE)

    assert not charts.run_rules(scores, rules=("beyond limits",)).any()


def test_the_mean_moving_range_is_that_of_section_6_3_2_2():
    printed = [2.0, 2.3, 1.4, 3.5, 3.4, 1.4, 0.2, 1.2, 1.5]

    assert np.abs(np.diff(FLOWRATE)) == pytest.approx(printed)
    assert charts.moving_range(FLOWRATE).center == pytest.approx(1.8778, abs=5e-5)


def test_the_moving_range_limit_follows_from_the_printed_factor():
    """3.267 of section 6.3.2.1 times 1.8778; the factor is rounded up in its third decimal."""
    assert charts.moving_range(FLOWRATE).upper == pytest.approx(3.267 * 1.8778, rel=3e-4)
