import math

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.weightstats import ttost_ind

from spc.compare.between_suppliers.lots_by_supplier import grouped_lots
from spc.compare.between_suppliers.pairs import pairs


def lots(means, sigmas, sizes, *, seed=1):
    generator = np.random.default_rng(seed)
    each = zip(means, sigmas, sizes, strict=True)
    return [generator.normal(mean, sigma, size) for mean, sigma, size in each]


def compared(groups, *, margin=math.nan, confidence=0.95):
    code = np.repeat(np.arange(len(groups)), [len(group) for group in groups])
    found = grouped_lots(np.concatenate(groups), code)
    return pairs(found, margin=margin, confidence=confidence)


def test_joint_intervals_and_chances_are_those_of_scipy():
    groups = lots([10.0, 10.5, 12.0], [0.5, 2.0, 1.0], [4, 9, 17])
    scipy = stats.tukey_hsd(*groups, equal_var=False)
    interval = scipy.confidence_interval(0.9)

    found = compared(groups, confidence=0.9)

    at = (found.first, found.second)
    assert list(zip(*at, strict=True)) == [(0, 1), (0, 2), (1, 2)]
    assert found.difference == pytest.approx(scipy.statistic[at], rel=1e-12)
    assert found.p_value == pytest.approx(scipy.pvalue[at], abs=1e-8)
    assert found.low == pytest.approx(np.asarray(interval.low)[at], rel=1e-6)
    assert found.high == pytest.approx(np.asarray(interval.high)[at], rel=1e-6)


@pytest.mark.parametrize("margin", [0.3, 1.0, 2.5])
def test_two_one_sided_tests_are_those_of_statsmodels(margin):
    first, second = lots([10.0, 10.4], [0.5, 1.0], [8, 14])
    expected, _, _ = ttost_ind(first, second, -margin, margin, usevar="unequal")

    found = compared([first, second], margin=margin)

    assert found.equivalence_p == pytest.approx([expected], rel=1e-9)


def test_among_more_suppliers_equivalence_is_harder_to_claim():
    groups = lots([10.0, 10.1, 10.2, 10.1], [0.5] * 4, [12] * 4)

    two, four = compared(groups[:2], margin=1.0), compared(groups, margin=1.0)

    assert four.equivalence_p[0] == pytest.approx(3.0 * two.equivalence_p[0], rel=1e-9)


@pytest.mark.parametrize(
    ("gap", "sigma", "margin", "verdict"),
    [
        (0.0, 0.1, 1.0, "equivalent"),
        (3.0, 0.1, 1.0, "different"),
        (0.5, 0.1, 1.0, "different but within the margin"),
        (0.5, 2.0, 1.0, "cannot be said"),
        (0.0, 0.1, math.nan, "cannot be said"),
        (3.0, 0.1, math.nan, "different"),
    ],
)
def test_difference_and_equivalence_are_two_questions(gap, sigma, margin, verdict):
    around = sigma * np.array([-1.5, -0.5, -0.1, 0.1, 0.5, 1.5])

    found = compared([10.0 + around, 10.0 + gap + around], margin=margin)

    assert found.verdict == (verdict,)
    assert math.isnan(found.equivalence_p[0]) == math.isnan(margin)


def test_the_interval_excludes_zero_just_when_the_chance_is_small():
    for seed in range(20):
        found = compared(lots([0.0, 0.6, 1.2], [1.0, 2.0, 0.5], [5, 8, 11], seed=seed))

        excluded = (found.low > 0.0) | (found.high < 0.0)
        assert (excluded == (found.p_value < 0.05)).all()


def test_of_pairs_as_far_apart_as_the_margin_seldom_any_is_called_equivalent():
    """Two suppliers at either end of the margin: six pairs, four of them at it."""
    generator, trials, wrong = np.random.default_rng(5), 600, 0
    code = np.repeat(np.arange(4), 10)
    for _ in range(trials):
        value = generator.normal(size=40) * 0.1 + np.repeat([0.0, 0.0, 1.0, 1.0], 10)
        found = pairs(grouped_lots(value, code), margin=1.0, confidence=0.95)
        wrong += bool((found.equivalence_p[1:5] < 0.05).any())

    assert wrong / trials < 0.05 + 3.0 * math.sqrt(0.05 * 0.95 / trials)


def test_of_four_equal_suppliers_some_pair_differs_about_as_often_as_stated():
    """5 to 7 %, as the docstring says, within three standard errors."""
    generator, trials, wrong = np.random.default_rng(6), 600, 0
    code = np.repeat(np.arange(4), [5, 6, 8, 12])
    sigma = np.array([0.5, 1.0, 2.0, 1.0])[code]
    for _ in range(trials):
        value = generator.normal(size=code.size) * sigma
        found = pairs(grouped_lots(value, code), margin=math.nan, confidence=0.95)
        wrong += bool((found.p_value < 0.05).any())

    assert 0.05 - 0.027 < wrong / trials < 0.07 + 0.031


@pytest.mark.parametrize("suppliers", [0, 1])
def test_fewer_than_two_suppliers_have_no_pair(suppliers):
    code = np.repeat(np.arange(2), 4)
    groups = grouped_lots(np.arange(8.0), code).of(np.arange(2) < suppliers)

    found = pairs(groups, margin=1.0, confidence=0.95)

    assert found.verdict == ()
    assert found.difference.size == found.p_value.size == found.low.size == 0
