"""Precision studies: ISO 5725-2:1994, and the repeatability of a gauge in the NIST handbook.

The coal data and their printed results are from memory and were not read again; all twelve printed
results follow from the data, which speaks for both.  Critical values of Mandel's h and k and of
Cochran's test were computed by an independent program.  Gauge study: NIST/SEMATECH e-Handbook of
Statistical Methods (doi 10.18434/M32189), section 2.4.4.1.
"""

import numpy as np
import pytest

from spc.compare.between_methods.level_relations import level_relations
from spc.compare.studies.mandel import critical_h, critical_k
from spc.compare.studies.outlying_pair import critical_pair
from spc.compare.studies.precision_study import repeatability

# ISO 5725-2:1994, Annex B.1: sulfur in coal, mass %, four levels of eight laboratories.
# fmt: off
COAL = {
    1: [[.71, .71, .70, .71], [1.20, 1.18, 1.23, 1.21], [1.68, 1.70, 1.68, 1.69],
        [3.26, 3.26, 3.20, 3.24]],
    2: [[.69, .67, .68], [1.22, 1.21, 1.22], [1.64, 1.64, 1.65], [3.20, 3.20, 3.20]],
    3: [[.66, .65, .69], [1.28, 1.31, 1.30], [1.61, 1.61, 1.62], [3.37, 3.36, 3.38]],
    4: [[.67, .65, .66], [1.23, 1.18, 1.20], [1.68, 1.66, 1.66], [3.16, 3.22, 3.23]],
    5: [[.70, .69, .66, .71, .69], [1.31, 1.22, 1.22, 1.24], [1.64, 1.67, 1.60, 1.66, 1.68],
        [3.20, 3.19, 3.18, 3.27, 3.24]],
    6: [[.73, .74, .73], [1.39, 1.36, 1.37], [1.70, 1.73, 1.73], [3.27, 3.31, 3.29]],
    7: [[.71, .71, .69], [1.20, 1.26, 1.26], [1.69, 1.70, 1.68], [3.27, 3.24, 3.23]],
    8: [[.70, .65, .68], [1.24, 1.22, 1.30], [1.67, 1.68, 1.67], [3.25, 3.26, 3.26]],
}
# fmt: on
# As printed: general means, and standard deviations of repeatability and reproducibility.
PRINTED_MEAN = [0.690, 1.252, 1.667, 3.250]
PRINTED_REPEATABILITY = [0.015, 0.029, 0.017, 0.026]
PRINTED_REPRODUCIBILITY = [0.026, 0.061, 0.035, 0.058]
# Recomputed from the data: to more digits, and between laboratories.
REPEATABILITY = [0.015117, 0.028779, 0.017078, 0.026077]
BETWEEN = [0.021600, 0.053337, 0.030284, 0.052050]
REPRODUCIBILITY = [0.026364, 0.060606, 0.034768, 0.058217]
COCHRAN = [0.3502, 0.2885, 0.5797, 0.3096]
GRUBBS_HIGH = [1.8071, 2.0890, 1.5859, 2.0935]
GRUBBS_LOW = [1.2292, 0.8989, 1.6686, 0.9440]

# Laboratories: h at 1 % and 5 %; k of 2, 3 and 4 replicates at 1 %, and at 5 %.
MANDEL_H = {
    5: (1.715, 1.571),
    8: (2.065, 1.749),
    10: (2.176, 1.798),
    15: (2.318, 1.858),
    20: (2.385, 1.885),
}
MANDEL_K_1 = {
    5: (2.051, 1.849, 1.729),
    8: (2.256, 1.964, 1.812),
    10: (2.324, 2.001, 1.839),
    15: (2.411, 2.051, 1.875),
    20: (2.454, 2.075, 1.893),
}
MANDEL_K_5 = {
    5: (1.814, 1.623, 1.526),
    8: (1.885, 1.669, 1.562),
    10: (1.904, 1.683, 1.573),
    15: (1.926, 1.700, 1.587),
    20: (1.936, 1.708, 1.594),
}

# ISO 5725-2:1994, table 5, two outlying means: values, 1 % and 5 % (from memory; a simulation of
# 1.6 million samples each agrees within 0.0006).
PAIRS = [
    (4, 0.0000, 0.0002),
    (5, 0.0018, 0.0090),
    (6, 0.0116, 0.0349),
    (7, 0.0308, 0.0708),
    (8, 0.0563, 0.1101),
    (9, 0.0851, 0.1492),
    (10, 0.1150, 0.1864),
]

# ISO 5725-2:1994, 7.5.2, five levels (from memory; the printed relations follow from them).
LEVELS = [3.94, 8.28, 14.18, 15.59, 20.41]
LEVEL_SDS = [0.092, 0.179, 0.127, 0.337, 0.393]

# NIST 2.4.4.1: average and standard deviation of six readings on each of twelve days.
# fmt: off
GAUGE = [
    (96.0771, .1024), (95.9976, .0943), (96.0148, .0622), (96.0397, .0702), (96.0407, .0627),
    (96.0445, .0622), (96.0793, .0996), (96.1115, .0533), (96.0803, .0364), (96.0411, .0768),
    (96.0988, .1042), (96.0482, .0868),
]
# fmt: on


@pytest.fixture(scope="module")
def coal():
    rows = [
        (value, laboratory, level)
        for laboratory, cells in COAL.items()
        for level, cell in enumerate(cells, start=1)
        for value in cell
    ]
    return repeatability(*zip(*rows, strict=True))


def test_sulfur_in_coal_gives_the_printed_means_and_standard_deviations(coal):
    assert coal.levels == ("1", "2", "3", "4")
    assert coal.mean == pytest.approx(PRINTED_MEAN, abs=5e-4)
    assert coal.repeatability_sd == pytest.approx(PRINTED_REPEATABILITY, abs=5e-4)
    assert coal.reproducibility_sd == pytest.approx(PRINTED_REPRODUCIBILITY, abs=5e-4)


def test_sulfur_in_coal_to_the_digits_recomputed(coal):
    assert coal.repeatability_sd == pytest.approx(REPEATABILITY, abs=6e-7)
    assert coal.between_sd == pytest.approx(BETWEEN, abs=6e-7)
    assert coal.reproducibility_sd == pytest.approx(REPRODUCIBILITY, abs=6e-7)
    assert coal.repeatability_degrees.tolist() == [19, 18, 19, 19]


def test_sulfur_in_coal_is_screened_as_the_standard_screens_it(coal):
    """Mandel's largest and smallest h are Grubbs' statistics upwards and downwards."""
    variances = [one for one in coal.screening if one.test == "variance"]
    means = [one for one in coal.screening if one.test == "mean"]

    assert [one.statistic for one in variances] == pytest.approx(COCHRAN, abs=5e-5)
    assert coal.h.max(axis=1) == pytest.approx(GRUBBS_HIGH, abs=5e-5)
    assert -coal.h.min(axis=1) == pytest.approx(GRUBBS_LOW, abs=5e-5)
    farther = np.maximum(GRUBBS_HIGH, GRUBBS_LOW)
    assert [one.statistic for one in means] == pytest.approx(farther.tolist(), abs=5e-5)


def test_laboratory_5_is_a_straggler_at_level_3_of_the_coal_and_no_outlier(coal):
    """0.5797 lies between 0.516 (5 %) and 0.615 (1 %); no mean reaches 2.126 (5 %)."""
    found = [one for one in coal.suspects if one.test != "pair of means"]

    assert [(one.test, one.level, one.laboratories) for one in found] == [("variance", "3", ("5",))]
    assert found[0].standing == "straggler"
    assert (found[0].critical_5, found[0].critical_1) == pytest.approx((0.516, 0.615), abs=5e-4)
    for one in coal.screening:
        if one.test == "mean":
            assert one.statistic < one.critical_5 == pytest.approx(2.126, abs=1e-3)


@pytest.mark.parametrize("laboratories", MANDEL_H)
def test_critical_values_of_mandel_are_the_tabulated_ones(laboratories):
    at_1 = [critical_k(laboratories, replicates, 0.01) for replicates in (2, 3, 4)]
    at_5 = [critical_k(laboratories, replicates, 0.05) for replicates in (2, 3, 4)]
    h = [critical_h(laboratories, risk) for risk in (0.01, 0.05)]

    assert h == pytest.approx(list(MANDEL_H[laboratories]), abs=6e-4)
    assert at_1 == pytest.approx(list(MANDEL_K_1[laboratories]), abs=6e-4)
    assert at_5 == pytest.approx(list(MANDEL_K_5[laboratories]), abs=6e-4)


@pytest.mark.parametrize(("n", "at_1", "at_5"), PAIRS)
def test_critical_values_of_two_outlying_means_are_those_of_table_5(n, at_1, at_5):
    assert critical_pair(n, 0.01) == pytest.approx(at_1, abs=6e-5)
    assert critical_pair(n, 0.05) == pytest.approx(at_5, abs=6e-5)


def test_three_relations_of_precision_to_level_are_those_of_7_5():
    """Printed: s = 0.019 m; s = 0.032 + 0.0154 m; s = 0.031 m^0.77."""
    found = level_relations(LEVELS, LEVEL_SDS)

    assert found.proportional == pytest.approx(0.019, abs=5e-4)
    assert found.intercept == pytest.approx(0.032, abs=5e-4)
    assert found.slope == pytest.approx(0.0154, abs=5e-5)
    assert found.coefficient == pytest.approx(0.031, abs=5e-4)
    assert found.exponent == pytest.approx(0.77, abs=5e-3)


def test_the_repeatability_of_the_gauge_of_2_4_4_1():
    """Six readings a day with the printed average and standard deviation, whatever they were."""
    shape = np.array([-5.0, -3.0, -1.0, 1.0, 3.0, 5.0])
    shape /= shape.std(ddof=1)
    value = np.concatenate([average + sd * shape for average, sd in GAUGE])

    found = repeatability(value, np.repeat(np.arange(12), 6))

    assert found.repeatability_sd == pytest.approx([0.07871], abs=5e-6)
    assert found.repeatability_degrees.tolist() == [60]
    averages = np.array([average for average, _ in GAUGE])
    expected = averages.var(ddof=1) - found.repeatability_sd[0] ** 2 / 6.0
    assert found.between_sd[0] == pytest.approx(max(0.0, expected) ** 0.5, abs=1e-9)
