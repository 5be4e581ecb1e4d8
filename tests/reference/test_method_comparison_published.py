"""Published and recomputed figures for lines and differences between two methods.

Sources: Bland, J. M. and Altman, D. G. (1986), Lancet 327, 307-310 (data and results printed
there, refs/tables.md 9); Pearson, K. (1901), Philosophical Magazine 2, 559-572; NIST StRD, data
set Norris; González-Zamora et al., J. Chemistry 2015, 709150 (refs/trade.md 1.4);
NIST/SEMATECH e-Handbook of Statistical Methods (doi 10.18434/M32189), sections 2.3.6 and 7.2.2
(refs/nist.md 10 and 14); ISO 13528 (formula, refs/tables.md 7f).
"""

import math

import numpy as np
import pytest

from spc.compare.between_methods.corrections import Correction
from spc.compare.between_methods.differences import agreement
from spc.compare.between_methods.method_comparison import methods
from spc.compare.certificate_checks.scores import expanded_score, zeta_score

# Peak expiratory flow in l/min of 17 subjects, first reading of each meter.
WRIGHT = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
MINI = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]

# Total capsaicinoids in mg/g of ten chiltepin samples, by chromatography and by spectrophotometer.
CHROMATOGRAPHY = [58.95, 70.04, 77.62, 71.87, 92.45, 86.88, 104.69, 29.55, 71.13, 49.12]
SPECTROPHOTOMETER = [53.38, 59.47, 79.95, 81.83, 109.64, 97.73, 118.93, 20.18, 76.79, 62.18]

PEARSON_X = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4]
PEARSON_Y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5]

# Two ozone monitors, customer's (y) and reference (x).
# fmt: off
NORRIS_Y = [
    0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1,
    668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0,
    998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
]
NORRIS_X = [
    0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5,
    666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2,
    999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
]
# fmt: on


def test_the_two_flow_meters_differ_as_bland_and_altman_print():
    found = methods(MINI, WRIGHT, kind="differences").agreement

    assert found.bias == pytest.approx(-2.1, abs=0.05)
    assert found.sd == pytest.approx(38.8, abs=0.05)
    # The paper goes two standard deviations out where we go 1.96.
    reach = 2.0 / 1.959964 * (found.upper - found.bias)
    assert found.bias - reach == pytest.approx(-79.7, abs=0.06)
    assert found.bias + reach == pytest.approx(75.5, abs=0.15)


def test_the_interval_of_their_bias_is_the_printed_one():
    """Printed as -22.0 to 17.8; from memory."""
    ends = methods(MINI, WRIGHT, kind="differences").agreement.bias_interval

    assert (ends.low, ends.high) == pytest.approx((-22.0, 17.8), abs=0.06)


def test_pairwise_slopes_of_the_flow_meters_rank_as_recomputed():
    """136 pairs, one slope of -1, 13 below it: refs/tables.md 9c, recomputed there by hand."""
    line = methods(WRIGHT, MINI, kind="passing-bablok").line

    assert line.slope == pytest.approx(1.0648148148, rel=1e-10)
    assert line.intercept == pytest.approx(-24.3055556, abs=1e-7)
    assert line.slope_interval.low == pytest.approx(0.8370786517, rel=1e-10)
    assert line.slope_interval.high == pytest.approx(1.3968253968, rel=1e-10)
    assert line.intercept_interval.low == pytest.approx(-178.0317460, abs=1e-7)
    assert line.intercept_interval.high == pytest.approx(82.9382022, abs=1e-7)


def test_pearson_s_line_of_closest_fit_is_a_deming_line_with_equal_errors():
    """Printed as y = 5.784 - 0.546 x; from memory."""
    found = methods(PEARSON_X, PEARSON_Y)

    assert found.intercept == pytest.approx(5.784, abs=5e-4)
    assert found.slope == pytest.approx(-0.546, abs=5e-4)


def test_with_a_reference_free_of_error_the_line_is_the_certified_regression():
    """Certified to 15 digits; a variance ratio of 1e9 leaves nothing of the error of x."""
    found = methods(NORRIS_X, NORRIS_Y, variance_ratio=1e9)

    assert found.slope == pytest.approx(1.00211681802045, rel=1e-9)
    assert found.intercept == pytest.approx(-0.262323073774029, rel=1e-6)
    assert found.residual_sd == pytest.approx(0.884796396144373, rel=1e-9)


def test_ten_chiltepin_samples_give_the_recomputed_deming_line_and_limits():
    found = methods(CHROMATOGRAPHY, SPECTROPHOTOMETER)

    assert found.slope == pytest.approx(1.3541, abs=5e-5)
    assert found.intercept == pytest.approx(-20.446, abs=5e-4)
    assert found.correlation == pytest.approx(0.961, abs=5e-4)
    assert found.agreement.bias == pytest.approx(4.778, abs=5e-4)
    # Reference figures go 1.96 standard deviations out.
    assert found.agreement.lower == pytest.approx(-15.098, abs=2e-3)
    assert found.agreement.upper == pytest.approx(24.654, abs=2e-3)


def test_a_bias_interval_is_that_of_the_one_sample_t():
    """Particle counts of section 7.2.2 against 50; lower end as recomputed in refs/nist.md 10.

    The upper end there (58.39757089...) has two digits exchanged: it is not as far from the mean.
    """
    counts = np.array([50, 48, 44, 56, 61, 52, 53, 55, 67, 51])

    found = agreement(counts - 50.0, confidence=0.95)

    assert found.bias == pytest.approx(3.7)
    assert found.sd == pytest.approx(6.567, abs=5e-4)
    assert found.bias / found.bias_error == pytest.approx(1.782, abs=5e-4)
    assert 50.0 + found.bias_interval.low == pytest.approx(49.00242913029366, rel=1e-12)
    assert 50.0 + found.bias_interval.high == pytest.approx(2.0 * 53.7 - 49.00242913029366)


@pytest.mark.parametrize(
    ("reading", "expected"),
    [(0, 0.067777), (3, 0.064893), (6, 0.063662), (9, 0.064181), (12, 0.066408)],
)
def test_a_calibration_turned_round_has_the_uncertainty_of_section_2_3_6(reading, expected):
    """Coefficients and covariance as printed; uncertainties recomputed in refs/nist.md 14."""
    line = Correction(
        kind="line",
        offset=0.2357623,
        slope=0.9870377,
        offset_variance=0.0005905067,
        slope_variance=1.183759e-05,
        covariance=-7.649453e-05,
        degrees_of_freedom=38,
        residual_sd=0.06203,
        lowest=0.0,
        highest=15.0,
        lots=40,
    )

    found = line.apply(reading, 0.06203)

    assert found.value == pytest.approx((reading - 0.2357623) / 0.9870377)
    assert found.uncertainty == pytest.approx(expected, abs=5e-7)


def test_scores_follow_iso_13528():
    """10.32 with U 0.20 against 10.05 with U 0.12, k = 2."""
    assert expanded_score(10.32, 0.20, 10.05, 0.12) == pytest.approx(1.157615, abs=5e-7)
    assert zeta_score(10.32, 0.10, 10.05, 0.06) == pytest.approx(2.315231, abs=5e-7)
    assert math.isnan(float(zeta_score(10.32, math.nan, 10.05, 0.06)))
