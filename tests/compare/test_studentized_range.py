"""The studentized range against SciPy's own, which integrates every value adaptively."""

import numpy as np
import pytest
from scipy import stats

from spc.compare.between_suppliers.studentized_range import range_isf, range_sf

Q = np.array([0.5, 1.5, 3.0, 4.5, 7.0, 20.0])


@pytest.mark.parametrize("groups", [3, 5, 10, 30])
@pytest.mark.parametrize("degrees", [2.0, 3.7, 90.0])
def test_chances_are_those_of_scipy(groups, degrees):
    found = range_sf(Q, groups=groups, degrees=np.full(Q.shape, degrees))

    assert found == pytest.approx(stats.studentized_range.sf(Q, groups, degrees), abs=1e-8)


@pytest.mark.parametrize("groups", [4, 30])
@pytest.mark.parametrize("risk", [0.05, 0.01])
def test_quantiles_are_those_of_scipy(groups, risk):
    degrees = np.array([2.0, 5.3])

    found = range_isf(risk, groups=groups, degrees=degrees)

    assert found == pytest.approx(stats.studentized_range.isf(risk, groups, degrees), rel=1e-6)


@pytest.mark.parametrize("degrees", [2.0, 2.5, 7.0, 300.0, 1e5])
def test_of_two_means_it_is_student_s_t(degrees):
    q = np.array([0.1, 1.0, 2.8, 6.0, 60.0])

    found = range_sf(q, groups=2, degrees=degrees)

    assert found == pytest.approx(2.0 * stats.t.sf(q / np.sqrt(2.0), degrees), abs=1e-9)


@pytest.mark.parametrize("groups", [2, 6, 30, 60])
@pytest.mark.parametrize("risk", [0.1, 0.01, 0.001])
def test_there_and_back_the_risk_is_the_one_asked_for(groups, risk):
    degrees = np.array([2.0, 2.1, 3.0, 9.0, 60.0, 1e4])

    q = range_isf(risk, groups=groups, degrees=degrees)

    assert range_sf(q, groups=groups, degrees=degrees) == pytest.approx(risk, rel=2e-6)
    assert (np.diff(q) < 0.0).all()


def test_an_empty_question_has_an_empty_answer():
    assert range_isf(0.05, groups=2, degrees=np.zeros(0)).shape == (0,)
    assert range_sf(np.zeros(0), groups=2, degrees=np.zeros(0)).shape == (0,)


def test_a_range_of_nothing_is_always_exceeded_and_a_huge_one_never():
    found = range_sf([0.0, 1e9], groups=12, degrees=[5.0, 5.0])

    assert found == pytest.approx([1.0, 0.0], abs=1e-12)
