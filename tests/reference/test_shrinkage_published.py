"""Restricted maximum likelihood where it was published.

Yield of dyestuff from six batches: Davies, O. L. (1947), Statistical Methods in Research and
Production, 6.4 (data from memory; variances and conditional modes as general-purpose software for
mixed models prints them).  Vaccine trials: Colditz, G. A. et al. (1994), JAMA 271, 698-702 (counts
read again; estimates as general-purpose software for combining trials prints them).
"""

import numpy as np
import pytest

from spc.compare.between_suppliers.shrunken_means import drawn_to_center, shrunken_means

DYESTUFF = np.array(
    [
        [1545.0, 1440.0, 1440.0, 1520.0, 1580.0],
        [1540.0, 1555.0, 1490.0, 1560.0, 1495.0],
        [1595.0, 1550.0, 1605.0, 1510.0, 1560.0],
        [1445.0, 1440.0, 1595.0, 1465.0, 1545.0],
        [1595.0, 1630.0, 1515.0, 1635.0, 1625.0],
        [1520.0, 1455.0, 1450.0, 1480.0, 1445.0],
    ]
)
# Ill and well of the vaccinated, ill and well of the others.
VACCINE = np.array(
    [
        [4, 119, 11, 128],
        [6, 300, 29, 274],
        [3, 228, 11, 209],
        [62, 13536, 248, 12619],
        [33, 5036, 47, 5761],
        [180, 1361, 372, 1079],
        [8, 2537, 10, 619],
        [505, 87886, 499, 87892],
        [29, 7470, 45, 7232],
        [17, 1699, 65, 1600],
        [186, 50448, 141, 27197],
        [5, 2493, 3, 2338],
        [27, 16886, 29, 17825],
    ],
    dtype=np.float64,
)


def test_dyestuff_batches_vary_by_42_around_a_residual_of_49_51():
    within = DYESTUFF.var(axis=1, ddof=1).mean()
    mean, variance = DYESTUFF.mean(axis=1), np.full(6, within / 5)

    between = shrunken_means(mean, variance).between

    assert np.sqrt(within) == pytest.approx(49.51, abs=5e-3)
    assert between == pytest.approx(42.00, abs=5e-3)
    assert between**2 == pytest.approx(1764.05, rel=1e-7)
    drawn, _, _ = drawn_to_center(mean, variance, np.array([[between]]))
    assert drawn[0, :2] - 1527.5 == pytest.approx([-17.6068514, 0.391263], abs=5e-7)


def test_thirteen_vaccine_trials_vary_by_0_5597():
    ill, well, control_ill, control_well = VACCINE.T
    ratio = np.log(ill / (ill + well)) - np.log(control_ill / (control_ill + control_well))
    variance = 1 / ill - 1 / (ill + well) + 1 / control_ill - 1 / (control_ill + control_well)

    between = shrunken_means(ratio, variance).between

    assert between == pytest.approx(0.5597, abs=5e-5)
    assert between**2 == pytest.approx(0.3132, abs=5e-5)
    weight = 1.0 / (variance + between**2)
    assert weight @ ratio / weight.sum() == pytest.approx(-0.7145, abs=5e-5)
    assert weight.sum() ** -0.5 == pytest.approx(0.1798, abs=5e-5)
