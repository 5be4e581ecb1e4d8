"""A censored sample with its published estimates.

Berthouex, P. M. and Brown, L. C. (2002), Statistics for Environmental Engineers, 2nd edition,
example 15.4: 27 concentrations in µg/L, four of them below 6, by the method and table of Cohen,
A. C. (1961), Technometrics 3, 535-541.
"""

import numpy as np
import pytest

from spc import charts

# fmt: off
MEASURED = [
    6.9, 7.8, 8.9, 7.7, 9.6, 8.7, 6.7, 8.0, 8.5, 6.5, 9.2, 7.4, 6.3, 7.3, 8.3, 7.2, 7.5, 6.1, 9.4,
    7.6, 8.1, 7.9, 10.1,
]
# fmt: on


def test_the_measured_part_has_the_printed_moments():
    assert np.mean(MEASURED) == pytest.approx(7.9, abs=0.05)
    assert np.var(MEASURED) == pytest.approx(1.1078, abs=5e-5)


def test_centre_and_spread_are_the_printed_ones_but_for_interpolation():
    """The book interpolates Cohen's factor linearly, 0.20392; the exact one is 0.2012.

    That moves the mean by 0.0028 times 1.9 µg/L and the variance by 0.0028 times 3.61.
    """
    found = charts.censored_baseline([*MEASURED, *[6.0] * 4], [0] * 23 + [-1] * 4, scale="linear")

    assert found.center == pytest.approx(7.51, abs=0.005 + 0.0028 * 1.9)
    assert found.sigma**2 == pytest.approx(1.844, abs=0.0005 + 0.0028 * 3.61)
    assert found.sigma == pytest.approx(1.36, abs=0.006)


def test_cohen_s_factor_lies_between_its_printed_neighbours():
    """At 4/27 censored and a ratio of 0.3069: between 0.13059 and 0.28193 of the table."""
    found = charts.censored_baseline([*MEASURED, *[6.0] * 4], [0] * 23 + [-1] * 4, scale="linear")

    factor = (np.mean(MEASURED) - found.center) / (np.mean(MEASURED) - 6.0)
    from_spread = (found.sigma**2 - np.var(MEASURED)) / (np.mean(MEASURED) - 6.0) ** 2
    assert factor == pytest.approx(from_spread, rel=1e-9)
    assert 0.13059 < factor < 0.28193
