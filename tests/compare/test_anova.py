import math
from decimal import Decimal

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.oneway import anova_oneway

from spc.compare.between_suppliers.anova import brown_forsythe, one_way, welch, welch_simulated
from spc.compare.between_suppliers.lots_by_supplier import grouped_lots


def lots(*, sizes=(4, 9, 17, 6), seed=1, shift=0.0):
    generator = np.random.default_rng(seed)
    spread = generator.uniform(0.5, 3.0, size=len(sizes))
    means = shift * np.arange(len(sizes))
    return [
        generator.normal(10.0 + mean, sigma, size)
        for mean, sigma, size in zip(means, spread, sizes, strict=True)
    ]


def grouped(groups):
    code = np.repeat(np.arange(len(groups)), [len(group) for group in groups])
    return grouped_lots(np.concatenate(groups), code)


@pytest.mark.parametrize("seed", range(5))
def test_welch_s_test_is_that_of_two_other_programs(seed):
    groups = lots(seed=seed, shift=0.8)
    scipy = stats.f_oneway(*groups, equal_var=False)
    statsmodels = anova_oneway(groups, use_var="unequal", welch_correction=True)

    found = welch(grouped(groups))

    assert found.statistic == pytest.approx(scipy.statistic, rel=1e-11)
    assert found.p_value == pytest.approx(scipy.pvalue, rel=1e-10)
    assert found.degrees_within == pytest.approx(statsmodels.df_denom, rel=1e-11)
    assert found.p_value == pytest.approx(statsmodels.pvalue, rel=1e-10)


@pytest.mark.parametrize("seed", range(5))
def test_the_classic_f_is_that_of_scipy(seed):
    groups = lots(seed=seed)

    found = one_way(grouped(groups))

    expected = stats.f_oneway(*groups)
    assert found.statistic == pytest.approx(expected.statistic, rel=1e-10)
    assert found.p_value == pytest.approx(expected.pvalue, rel=1e-10)


@pytest.mark.parametrize("sizes", [(4, 9, 17, 6), (5, 5), (7, 8, 10)])
def test_spreads_are_compared_about_medians_as_scipy_does(sizes):
    groups = lots(sizes=sizes)

    found = brown_forsythe(grouped(groups))

    expected = stats.levene(*groups, center="median")
    assert found.statistic == pytest.approx(expected.statistic, rel=1e-11)
    assert found.p_value == pytest.approx(expected.pvalue, rel=1e-11)


def test_of_two_suppliers_welch_s_f_is_the_square_of_his_t():
    first, second = lots(sizes=(6, 11))
    t = stats.ttest_ind(first, second, equal_var=False)

    found = welch(grouped([first, second]))

    assert found.statistic == pytest.approx(t.statistic**2, rel=1e-11)
    assert (found.degrees_within, found.p_value) == pytest.approx((t.df, t.pvalue), rel=1e-11)


def test_with_many_lots_the_drawn_chance_is_welch_s():
    groups = grouped(lots(sizes=(60, 80, 70), seed=3, shift=0.15))
    told = welch(groups).p_value

    drawn = welch_simulated(groups, draws=40_000, generator=np.random.default_rng(1))

    assert 0.01 < told < 0.3
    assert drawn.p_value == pytest.approx(told, abs=4.0 * drawn.standard_error + 0.002)
    assert drawn.draws == 40_000


def test_twenty_equal_suppliers_of_three_lots_are_kept_apart_by_welch_but_not_by_drawing():
    """A stated risk of 5 %: Welch's test takes near 29 %, the drawn chance no more than it says."""
    generator = np.random.default_rng(20)
    trials, code = 300, np.repeat(np.arange(20), 3)
    told = np.empty((trials, 2))
    for trial in told:
        groups = grouped_lots(generator.normal(size=60), code)
        drawn = welch_simulated(groups, draws=400, generator=generator)
        trial[:] = welch(groups).p_value, drawn.p_value

    by_welch, by_drawing = (told < 0.05).mean(axis=0)

    assert by_welch > 0.2
    assert by_drawing < 0.05 + 3.0 * math.sqrt(0.05 * 0.95 / trials)


def test_no_draw_beyond_still_leaves_a_standard_error():
    groups = grouped([np.arange(10.0), np.arange(10.0) + 1000.0])

    drawn = welch_simulated(groups, draws=1_000, generator=np.random.default_rng(1))

    assert drawn.p_value == 0.0
    assert 0.0 < drawn.standard_error < 0.001


@pytest.mark.parametrize("test", [one_way, welch, brown_forsythe])
def test_unit_and_zero_point_do_not_matter(test):
    groups = lots(shift=0.5)

    plain, moved = test(grouped(groups)), test(grouped([1000.0 - 7.0 * x for x in groups]))

    assert moved.statistic == pytest.approx(plain.statistic, rel=1e-9)
    assert moved.p_value == pytest.approx(plain.p_value, rel=1e-9)


def test_decimals_are_shifted_before_they_become_binary():
    """0.1, 0.2 and 0.3 above a million million differ by the same amount, as written."""
    written = [Decimal(f"1000000000000.{tenths}") for tenths in (1, 2, 3)]

    exact = grouped_lots(written, np.zeros(3, dtype=np.int64))
    binary = grouped_lots([float(value) for value in written], np.zeros(3, dtype=np.int64))

    assert exact.variance[0] == pytest.approx(0.01, rel=1e-15)
    assert binary.variance[0] != pytest.approx(0.01, rel=1e-5)


def test_chosen_suppliers_keep_their_lots():
    groups = grouped(lots())

    chosen = groups.of(np.array([False, True, False, True]))

    assert chosen.lots.tolist() == [9, 6]
    assert chosen.mean == pytest.approx(groups.mean[[1, 3]])
    parts = np.split(chosen.value, chosen.starts[1:])
    assert [part.mean() for part in parts] == pytest.approx(chosen.mean.tolist())
    assert chosen.medians == pytest.approx(groups.medians[[1, 3]])
