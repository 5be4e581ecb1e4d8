"""Skewed and counted values against published examples and second computations.

NIST/SEMATECH e-Handbook of Statistical Methods: 7.4.3.3 (three levels), 7.4.7.4 (five lots of
wafers, from memory but for the counts), 1.3.5.7 to 1.3.5.9 (gears, ceramics), 7.2.6.2 (gauges,
from memory).  Olsson, U. (2005), Journal of Statistics Education 13(1): carbon monoxide.
"""

import itertools
import math

import numpy as np
import pytest
from scipy import stats

from spc.compare import (
    bartlett,
    by_ranks,
    empirical_percentile,
    kruskal_wallis,
    lognormal_mean,
    share_pairs,
    two_variances,
    variance_against,
)
from spc.errors import InvalidInput, NoSpread, NotPositive

# fmt: off
LEVELS = np.array([6.9, 5.4, 5.8, 4.6, 4.0, 8.3, 6.8, 7.8, 9.2, 6.5, 8.0, 10.5, 8.1, 6.9, 9.3])
LEVEL = np.repeat([0, 1, 2], 5)
GEAR = np.array([
    1.006, 0.996, 0.998, 1.0, 0.992, 0.993, 1.002, 0.999, 0.994, 1.0, 0.998, 1.006, 1.0, 1.002,
    0.997, 0.998, 0.996, 1.0, 1.006, 0.988, 0.991, 0.987, 0.997, 0.999, 0.995, 0.994, 1.0, 0.999,
    0.996, 0.996, 1.005, 1.002, 0.994, 1.0, 0.995, 0.994, 0.998, 0.996, 1.002, 0.996, 0.998, 0.998,
    0.982, 0.99, 1.002, 0.984, 0.996, 0.993, 0.98, 0.996, 1.009, 1.013, 1.009, 0.997, 0.988, 1.002,
    0.995, 0.998, 0.981, 0.996, 0.99, 1.004, 0.996, 1.001, 0.998, 1.0, 1.018, 1.01, 0.996, 1.002,
    0.998, 1.0, 1.006, 1.0, 1.002, 0.996, 0.998, 0.996, 1.002, 1.006, 1.002, 0.998, 0.996, 0.995,
    0.996, 1.004, 1.004, 0.998, 0.999, 0.991, 0.991, 0.995, 0.984, 0.994, 0.997, 0.997, 0.991,
    0.998, 1.004, 0.997,
])
GAUGES = [
    95.1772, 95.1567, 95.1937, 95.1959, 95.1442, 95.0610, 95.1591, 95.1195, 95.1065, 95.0925,
    95.1990, 95.1682,
]
# fmt: on
MONOXIDE = [12.5, 20, 4, 20, 25, 170, 15, 20, 15]


def test_three_levels_differ_by_ranks():
    found = by_ranks(LEVELS, LEVEL)

    assert found.statistic == pytest.approx(8.389982110912344, rel=1e-12)
    assert found.p_value == pytest.approx(0.015070877263608444, rel=1e-10)
    alone = kruskal_wallis(LEVELS, LEVEL)
    assert (alone.statistic, alone.p_value) == (found.statistic, found.p_value)


def test_pairs_by_ranks_are_as_recomputed_one_by_one():
    found = by_ranks(GEAR, np.repeat(np.arange(10), 10))

    groups = GEAR.reshape(10, 10)
    rank = stats.rankdata(GEAR).reshape(10, 10)
    ties = sum(t**3 - t for t in np.unique(GEAR, return_counts=True)[1])
    variance = (100 * 101 / 12 - ties / (12 * 99)) * 0.2
    for row, (a, b) in enumerate(itertools.combinations(range(10), 2)):
        dunn = (rank[a].mean() - rank[b].mean()) / math.sqrt(variance)
        assert found.dunn[row] == pytest.approx(dunn, rel=1e-9)
        plain = stats.mannwhitneyu(groups[a], groups[b], method="asymptotic", use_continuity=False)
        assert 2 * stats.norm.sf(abs(found.steel_dwass[row])) == pytest.approx(
            plain.pvalue, rel=1e-9
        )
    together = stats.studentized_range.sf(
        math.sqrt(2.0) * np.abs(found.steel_dwass).max(), 10, np.inf
    )
    assert found.steel_dwass_p.min() == pytest.approx(together, rel=1e-9)
    assert found.statistic == pytest.approx(stats.kruskal(*groups).statistic, rel=1e-12)


def test_two_suppliers_by_steel_and_dwass_are_the_plain_rank_test():
    found = by_ranks(LEVELS[:10], LEVEL[:10])

    plain = stats.mannwhitneyu(
        LEVELS[:5], LEVELS[5:10], method="asymptotic", use_continuity=False
    ).pvalue
    assert found.steel_dwass_p[0] == pytest.approx(plain, rel=1e-6)
    assert found.dunn_p[0] == pytest.approx(plain, rel=1e-9)


def test_holm_counts_down_and_never_turns_the_order():
    found = by_ranks(GEAR, np.repeat(np.arange(10), 10))

    plain = 2.0 * stats.norm.sf(np.abs(found.dunn))
    order = np.argsort(plain)
    by_hand = [min(1.0, max((45 - j) * plain[order[j]] for j in range(i + 1))) for i in range(45)]
    assert found.dunn_p[order] == pytest.approx(by_hand, rel=1e-12)


def test_five_lots_of_wafers_differ_and_no_pair_of_them_does():
    """Printed: chi-squared 12.131 on 4; the widest pair is 0.090 apart, and 0.093 is allowed."""
    found = share_pairs([36, 46, 42, 63, 38], [300] * 5)

    assert found.statistic == pytest.approx(12.131, abs=5e-4)
    assert found.degrees == 4
    assert not found.differs.any()
    row = found.pairs.tolist().index([0, 3])
    assert found.difference[row] == pytest.approx(-0.090, abs=1e-12)
    assert found.critical[row] == pytest.approx(0.093, abs=5e-4)
    allowed = math.sqrt(stats.chi2.ppf(0.95, 4) * (0.12 * 0.88 + 0.21 * 0.79) / 300)
    assert found.critical[row] == pytest.approx(allowed, rel=1e-9)
    assert share_pairs([36, 46, 42, 63, 38], [300] * 5, risk=0.1).differs.any()
    plain = stats.chi2_contingency(
        [[36, 46, 42, 63, 38], [264, 254, 258, 237, 262]], correction=False
    )
    assert found.p_value == pytest.approx(plain.pvalue, rel=1e-9)


def test_gears_are_not_alike_in_variance_by_bartlett():
    found = bartlett(GEAR, np.repeat(np.arange(10), 10))

    assert found.statistic == pytest.approx(20.78587, abs=5e-6)
    assert found.p_value == pytest.approx(0.013635863278057483, rel=1e-8)
    assert found.degrees == (9,)


def test_gears_against_a_stated_variance():
    found = variance_against(0.006278908, 100, stated=0.1)

    assert found.statistic == pytest.approx(0.3903, abs=5e-5)
    assert (found.lower, found.upper) == pytest.approx((0.00551292, 0.00729405), rel=1e-6)
    assert found.higher_p == pytest.approx(1.0)
    assert found.p_value < 1e-9


def test_ceramics_of_two_batches_do_not_differ_in_variance():
    found = two_variances(65.54909, 240, 61.85425, 240)

    assert found.statistic == pytest.approx(1.123037, abs=5e-7)
    assert found.degrees == (239, 239)
    assert found.p_value == pytest.approx(0.3703831598770808, rel=1e-9)
    assert found.lower == pytest.approx(1.1230374607 / 1.2893844, rel=1e-6)
    assert found.upper == pytest.approx(1.1230374607 / 0.7755639, rel=1e-6)


def test_the_ninetieth_percentile_of_twelve_gauges():
    found = empirical_percentile(GAUGES, 0.9)

    assert found.value == pytest.approx(95.19807, abs=5e-6)
    assert found.upper == math.inf


@pytest.mark.parametrize("share", [0.1, 0.5, 0.87])
@pytest.mark.parametrize("lots", [9, 30, 101])
def test_the_interval_of_a_percentile_is_the_narrowest_that_keeps_both_tails(lots, share):
    x = np.arange(1.0, lots + 1)

    found = empirical_percentile(x, share, confidence=0.9)

    below = stats.binom(lots, share)
    lows = [r for r in range(1, lots + 1) if below.cdf(r - 1) <= 0.05]
    highs = [s for s in range(1, lots + 1) if below.sf(s - 1) <= 0.05]
    assert found.lower == (max(lows) if lows else -math.inf)
    assert found.upper == (min(highs) if highs else math.inf)
    low = below.cdf(max(lows) - 1) if lows else 0.0
    high = below.cdf(min(highs) - 1) if highs else 1.0
    assert found.coverage == pytest.approx(high - low, rel=1e-9)
    assert found.coverage >= 0.9


def test_carbon_monoxide_by_cox_with_students_t():
    found = lognormal_mean(MONOXIDE)

    assert found.arithmetic_lower == pytest.approx(12.30929, abs=5e-6)
    assert found.arithmetic_upper == pytest.approx(78.72254, abs=5e-6)
    assert found.geometric == pytest.approx(stats.gmean(MONOXIDE), rel=1e-12)
    assert found.geometric < found.arithmetic


def test_the_interval_of_a_lognormal_mean_holds_it_about_as_often_as_stated():
    generator = np.random.default_rng(11)
    truth = math.exp(0.5 * 0.6**2)

    held = [
        one.arithmetic_lower <= truth <= one.arithmetic_upper
        for one in (lognormal_mean(row) for row in np.exp(generator.normal(0, 0.6, (1500, 10))))
    ]

    assert np.mean(held) == pytest.approx(0.95, abs=0.02)


@pytest.mark.parametrize(
    ("call", "error"),
    [
        (lambda: by_ranks([1.0, 2.0], [0, 0]), InvalidInput),
        (lambda: by_ranks([1.0, math.nan], [0, 1]), InvalidInput),
        (lambda: by_ranks([1.0, 2.0, 3.0], [0, 2, 2]), InvalidInput),
        (lambda: by_ranks([1.0, 1.0], [0, 1]), NoSpread),
        (lambda: share_pairs([1], [2]), InvalidInput),
        (lambda: share_pairs([3, 1], [2, 2]), InvalidInput),
        (lambda: share_pairs([0, 0], [2, 2]), InvalidInput),
        (lambda: share_pairs([1, 0], [2, 2], risk=0.0), InvalidInput),
        (lambda: bartlett([1.0, 2.0, 3.0], [0, 0, 1]), InvalidInput),
        (lambda: bartlett([1.0, 2.0, 3.0, 3.0], [0, 0, 1, 1]), NoSpread),
        (lambda: variance_against(1.0, 1, stated=1.0), InvalidInput),
        (lambda: variance_against(1.0, 5, stated=0.0), InvalidInput),
        (lambda: two_variances(1.0, 5, 0.0, 5), InvalidInput),
        (lambda: empirical_percentile([1.0, 2.0], 1.0), InvalidInput),
        (lambda: lognormal_mean([1.0, 0.0]), NotPositive),
    ],
)
def test_what_cannot_be_compared_is_refused(call, error):
    with pytest.raises(error):
        call()
