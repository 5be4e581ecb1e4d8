"""Outlier tests: tables of critical values, and worked examples of the e-Handbook.

Critical values of Grubbs and Cochran computed by an independent program from the formulae of
ISO 5725-2; printed ones from memory, not read again.  Examples of the NIST/SEMATECH e-Handbook of
Statistical Methods (doi 10.18434/M32189), section 1.3.5.17.
"""

import numpy as np
import pytest

from spc.acceptance import cochran, extreme_deviates, grubbs
from spc.acceptance.evidence.outliers import _largest_share
from spc.charts.outlying import largest_deviate

# Number of values; one-sided 5 % and 1 %, two-sided 5 % and 1 %.
GRUBBS = [
    (3, 1.15312, 1.15464, 1.15430, 1.15468),
    (4, 1.46250, 1.49250, 1.48125, 1.49625),
    (5, 1.67139, 1.74886, 1.71504, 1.76368),
    (6, 1.82212, 1.94425, 1.88715, 1.97282),
    (8, 2.03165, 2.22083, 2.12665, 2.27437),
    (10, 2.17607, 2.40972, 2.28995, 2.48208),
    (15, 2.40904, 2.70486, 2.54831, 2.80611),
    (20, 2.55658, 2.88382, 2.70825, 3.00080),
    (30, 2.74513, 3.10290, 2.90847, 3.23608),
    (100, 3.20952, 3.60020, 3.38408, 3.75400),
]
# ISO 5725-2, Table 5, as printed: number of values, 1 % and 5 %.
GRUBBS_PRINTED = [(8, 2.274, 2.126), (10, 2.482, 2.290)]

# Number of variances; replicates; 1 % and 5 %.
COCHRAN = [
    (2, 2, 0.9999, 0.9985),
    (3, 2, 0.9933, 0.9669),
    (5, 2, 0.9279, 0.8413),
    (10, 2, 0.7175, 0.6020),
    (40, 2, 0.2940, 0.2369),
    (2, 3, 0.9950, 0.9750),
    (6, 3, 0.7218, 0.6161),
    (8, 3, 0.6152, 0.5157),
    (5, 4, 0.6957, 0.5981),
    (6, 5, 0.5635, 0.4803),
    (20, 6, 0.2048, 0.1735),
]
# ISO 5725-2, Table 4, as printed.
COCHRAN_PRINTED = [
    (3, 2, 0.993, 0.967),
    (4, 2, 0.968, 0.906),
    (5, 2, 0.928, 0.841),
    (6, 2, 0.883, 0.781),
    (8, 2, 0.794, 0.680),
    (10, 2, 0.718, 0.602),
    (2, 3, 0.995, 0.975),
    (5, 3, 0.788, 0.684),
    (8, 3, 0.615, 0.516),
    (10, 3, 0.536, 0.445),
]

URANIUM = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]
# fmt: off
ROSNER = [
    -0.25, 0.68, 0.94, 1.15, 1.2, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58,
    1.65, 1.69, 1.7, 1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.1, 2.14, 2.15, 2.23,
    2.24, 2.26, 2.35, 2.37, 2.4, 2.47, 2.54, 2.62, 2.64, 2.9, 2.92, 2.92, 2.93, 3.21, 3.26, 3.3,
    3.59, 3.68, 4.3, 4.64, 5.34, 5.42, 6.01,
]
# fmt: on
# Statistic and critical value, cut at three decimals by the page; and the value looked at.
ROSNER_STEPS = [
    (3.118, 3.158, 6.01),
    (2.942, 3.151, 5.42),
    (3.179, 3.143, 5.34),
    (2.81, 3.136, 4.64),
    (2.815, 3.128, -0.25),
    (2.848, 3.12, 4.3),
    (2.279, 3.111, 3.68),
    (2.31, 3.103, 3.59),
    (2.101, 3.094, 0.68),
    (2.067, 3.085, 3.3),
]

# ISO 5725-2:1994, Annex B.1, sulfur in coal (from memory; the figures were recomputed from it):
# means of eight laboratories at level 1, with Grubbs' statistic upwards.
COAL = [
    [0.71, 0.71, 0.70, 0.71],
    [0.69, 0.67, 0.68],
    [0.66, 0.65, 0.69],
    [0.67, 0.65, 0.66],
    [0.70, 0.69, 0.66, 0.71, 0.69],
    [0.73, 0.74, 0.73],
    [0.71, 0.71, 0.69],
    [0.70, 0.65, 0.68],
]
COAL_LEVEL_3 = [
    [1.68, 1.70, 1.68, 1.69],
    [1.64, 1.64, 1.65],
    [1.61, 1.61, 1.62],
    [1.68, 1.66, 1.66],
    [1.64, 1.67, 1.60, 1.66, 1.68],
    [1.70, 1.73, 1.73],
    [1.69, 1.70, 1.68],
    [1.67, 1.68, 1.67],
]


@pytest.mark.parametrize(("n", "one_5", "one_1", "two_5", "two_1"), GRUBBS)
def test_critical_values_of_grubbs_are_the_tabulated_ones(n, one_5, one_1, two_5, two_1):
    """One-sided at a risk is two-sided at twice the risk."""
    found = [largest_deviate(n, risk) for risk in (0.10, 0.02, 0.05, 0.01)]

    assert found == pytest.approx([one_5, one_1, two_5, two_1], abs=6e-6)


@pytest.mark.parametrize(("n", "at_1", "at_5"), GRUBBS_PRINTED)
def test_critical_values_of_grubbs_are_those_printed_in_iso_5725_2(n, at_1, at_5):
    assert largest_deviate(n, 0.01) == pytest.approx(at_1, abs=1e-3)
    assert largest_deviate(n, 0.05) == pytest.approx(at_5, abs=1e-3)


@pytest.mark.parametrize(("p", "n", "at_1", "at_5"), COCHRAN)
def test_critical_values_of_cochran_are_the_tabulated_ones(p, n, at_1, at_5):
    assert _largest_share(p, n, 0.01) == pytest.approx(at_1, abs=6e-5)
    assert _largest_share(p, n, 0.05) == pytest.approx(at_5, abs=6e-5)


@pytest.mark.parametrize(("p", "n", "at_1", "at_5"), COCHRAN_PRINTED)
def test_critical_values_of_cochran_are_those_printed_in_iso_5725_2(p, n, at_1, at_5):
    assert _largest_share(p, n, 0.01) == pytest.approx(at_1, abs=1e-3)
    assert _largest_share(p, n, 0.05) == pytest.approx(at_5, abs=1e-3)


def test_the_uranium_outlier_of_1_3_5_17_1():
    """The page cuts G at four decimals; its one-sided critical value is ours at twice the risk."""
    found = grubbs(URANIUM, risk=0.05)

    assert found.statistic == pytest.approx(2.4687, abs=1e-4)
    assert found.statistic == pytest.approx(2.46876461121245, rel=1e-12)
    assert grubbs(URANIUM, risk=0.10).critical == pytest.approx(2.032, abs=5e-4)
    assert (found.outlying, found.position, found.size) == (True, 7, 8)


def test_rosner_s_three_outliers_of_1_3_5_17_3_step_by_step():
    found = extreme_deviates(ROSNER, most=10, risk=0.05)

    assert found.count == 3
    assert found.statistic == pytest.approx([row[0] for row in ROSNER_STEPS], abs=1e-3)
    assert found.critical == pytest.approx([row[1] for row in ROSNER_STEPS], abs=1e-3)
    assert [ROSNER[one] for one in found.position] == [row[2] for row in ROSNER_STEPS]


def test_one_at_a_time_finds_none_of_rosner_s_three():
    assert not grubbs(ROSNER).outlying


def test_sulfur_in_coal_has_no_outlying_laboratory_at_level_1():
    found = grubbs([np.mean(one) for one in COAL])

    assert found.statistic == pytest.approx(1.8071, abs=5e-5)
    assert found.position == 5
    assert not found.outlying


def test_sulfur_in_coal_has_a_straggling_spread_at_level_3():
    """Laboratory 5: C = 0.5797 between 0.516 (5 %) and 0.615 (1 %) for eight of three."""
    variances = [np.var(one, ddof=1) for one in COAL_LEVEL_3]

    at_5, at_1 = (cochran(variances, replicates=3, risk=risk) for risk in (0.05, 0.01))

    assert at_5.statistic == pytest.approx(0.5797, abs=5e-5)
    assert at_5.position == 4
    assert (at_5.outlying, at_1.outlying) == (True, False)
