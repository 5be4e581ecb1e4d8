import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spc.acceptance import cochran, extreme_deviates, grubbs
from spc.errors import InvalidInput, NoSpread, TooFewLots

BAGS = [41.0, 42.0, 40.0, 43.0, 41.5, 60.0]
values = st.lists(st.integers(0, 1000), min_size=4, max_size=20, unique=True)


def test_the_values_are_left_as_they_are():
    bags = np.array(BAGS)

    found = grubbs(bags)

    assert (found.position, found.outlying) == (5, True)
    assert bags.tolist() == BAGS


@given(values, st.floats(0.1, 100.0), st.floats(-1e3, 1e3))
def test_unit_and_origin_do_not_matter(bags, stretch, shift):
    plain, other = grubbs(bags), grubbs(np.multiply(stretch, bags) + shift)

    assert other.statistic == pytest.approx(plain.statistic, rel=1e-6)
    assert other.critical == plain.critical


@given(values)
def test_one_outlier_looked_for_is_the_test_of_grubbs(bags):
    single, first = grubbs(bags), extreme_deviates(bags, most=1)

    assert first.statistic[0] == pytest.approx(single.statistic)
    assert first.count == int(single.outlying)
    assert np.flatnonzero(first.outlying).tolist() == [single.position] * first.count


def test_two_that_lie_together_hide_from_one_test_and_not_from_the_other():
    bags = [*np.linspace(40.0, 44.0, 14), 70.0, 70.5, 71.0]

    assert not grubbs(bags).outlying
    assert np.flatnonzero(extreme_deviates(bags, most=4).outlying).tolist() == [14, 15, 16]


@settings(deadline=None, max_examples=20)
@given(st.integers(3, 12))
def test_the_stated_risk_of_grubbs_is_the_true_one(size):
    """Two thousand honest lots; four standard errors of a share of 5 %."""
    lots = np.random.default_rng(size).standard_normal((2000, size))

    flagged = np.mean([grubbs(lot).outlying for lot in lots])

    assert flagged == pytest.approx(0.05, abs=4.0 * math.sqrt(0.05 * 0.95 / 2000))


@pytest.mark.parametrize(("size", "replicates"), [(3, 2), (6, 3), (12, 4)])
def test_the_stated_risk_of_cochran_is_the_true_one(size, replicates):
    lots = np.random.default_rng(size).standard_normal((4000, size, replicates))

    flagged = np.mean(
        [cochran(one, replicates=replicates).outlying for one in lots.var(axis=2, ddof=1)]
    )

    assert flagged == pytest.approx(0.05, abs=4.0 * math.sqrt(0.05 * 0.95 / 4000))


@given(st.lists(st.floats(0.1, 100.0), min_size=2, max_size=12), st.floats(0.1, 10.0))
def test_variances_are_compared_in_any_unit(variances, stretch):
    plain = cochran(variances, replicates=3)

    other = cochran(np.multiply(stretch**2, variances), replicates=3)

    assert other.statistic == pytest.approx(plain.statistic)


def test_values_alike_but_for_one_leave_nothing_to_search_after_it():
    found = extreme_deviates([5.0] * 9 + [8.0], most=3)

    assert (found.count, found.statistic.size) == (1, 1)


def test_equal_values_have_no_outlier():
    assert extreme_deviates([5.0, 5.0, 5.0], most=1).count == 0


class TestRefusals:
    def test_too_few_or_equal_values(self):
        with pytest.raises(TooFewLots):
            grubbs([1.0, 2.0])
        with pytest.raises(NoSpread):
            grubbs([1.0, 1.0, 1.0])
        with pytest.raises(InvalidInput, match="not a finite number"):
            grubbs([1.0, math.nan, 2.0])

    @pytest.mark.parametrize("most", [0, 5])
    def test_more_outliers_than_values_leave_room_for(self, most):
        with pytest.raises(InvalidInput, match="among 6 values"):
            extreme_deviates(BAGS, most=most)

    @pytest.mark.parametrize("risk", [0.0, 0.5, math.nan])
    def test_a_risk_that_is_none(self, risk):
        with pytest.raises(InvalidInput, match="risk"):
            grubbs(BAGS, risk=risk)
        with pytest.raises(InvalidInput, match="risk"):
            cochran([1.0, 2.0], replicates=2, risk=risk)
        with pytest.raises(InvalidInput, match="risk"):
            extreme_deviates(BAGS, most=1, risk=risk)

    @pytest.mark.parametrize(
        ("variances", "replicates"),
        [([1.0], 2), ([1.0, 2.0], 1), ([1.0, -2.0], 2), ([[1.0, 2.0]], 2)],
    )
    def test_variances_that_cannot_be_compared(self, variances, replicates):
        with pytest.raises(InvalidInput, match="cannot be compared"):
            cochran(variances, replicates=replicates)

    def test_variances_that_are_all_zero_or_not_finite(self):
        with pytest.raises(InvalidInput, match="all variances are zero"):
            cochran([0.0, 0.0], replicates=2)
        with pytest.raises(InvalidInput, match="not a finite number"):
            cochran([1.0, math.inf], replicates=2)
