import math

import numpy as np
import pytest
from scipy import stats

from spc.compare.between_suppliers.consistency import spreads
from spc.compare.between_suppliers.lots_by_supplier import grouped_lots


def one_supplier(mean, sigma, lots, *, uncertainty=0.0):
    """Lots of just this mean and standard deviation."""
    z = stats.norm.ppf((np.arange(lots) + 0.5) / lots)
    value = mean + sigma * (z - z.mean()) / z.std(ddof=1)
    return grouped_lots(value, np.zeros(lots, dtype=np.int64), uncertainty=uncertainty)


@pytest.mark.parametrize("lots", [3, 5, 12, 80])
def test_a_standard_deviation_has_its_chi_squared_interval(lots):
    found = spreads(one_supplier(10.0, 2.0, lots), scale="linear", confidence=0.9)

    low, high = found.standard_deviation_interval[0]
    assert found.standard_deviation == pytest.approx([2.0])
    assert (lots - 1) * 4.0 / low**2 == pytest.approx(stats.chi2.isf(0.05, lots - 1))
    assert (lots - 1) * 4.0 / high**2 == pytest.approx(stats.chi2.ppf(0.05, lots - 1))


def test_on_log_scale_the_coefficient_is_that_of_a_lognormal_value():
    """Checked by its definition: standard deviation over mean of exp(normal)."""
    sigma = 0.4
    lognormal = stats.lognorm(sigma)

    found = spreads(one_supplier(0.0, sigma, 9), scale="log", confidence=0.95)

    assert found.cv == pytest.approx([lognormal.std() / lognormal.mean()])
    ends = found.standard_deviation_interval[0]
    assert found.cv_interval[0] == pytest.approx(np.sqrt(np.exp(ends**2) - 1.0))


@pytest.mark.parametrize("lots", [3, 5, 10, 40, 400])
@pytest.mark.parametrize("cv", [0.01, 0.05, 0.15, 0.4, 1.0])
def test_on_linear_scale_its_ends_are_those_of_the_noncentral_t(lots, cv):
    found = spreads(one_supplier(40.0, 40.0 * cv, lots), scale="linear", confidence=0.95)

    low, high = found.cv_interval[0]
    root = math.sqrt(lots)
    assert found.cv == pytest.approx([cv])
    assert low < cv < high
    assert stats.nct.sf(root / cv, lots - 1, root / low) == pytest.approx(0.975, abs=1e-6)
    if math.isfinite(high):
        assert stats.nct.sf(root / cv, lots - 1, root / high) == pytest.approx(0.025, abs=1e-6)
    else:
        assert stats.t.sf(root / cv, lots - 1) > 0.025


def test_below_a_third_the_interval_is_close_to_vangel_s_closed_form():
    lots, cv = 10, 0.1
    u = stats.chi2.isf([0.025, 0.975], lots - 1)
    vangel = cv / np.sqrt(((u + 2.0) / lots - 1.0) * cv**2 + u / (lots - 1))

    found = spreads(one_supplier(1.0, cv, lots), scale="linear", confidence=0.95)

    assert found.cv_interval[0] == pytest.approx(vangel, rel=1e-4)


def test_the_interval_holds_the_coefficient_as_often_as_stated():
    suppliers, lots, cv = 1_000, 5, 0.25
    value = np.random.default_rng(3).normal(1.0, cv, suppliers * lots)
    groups = grouped_lots(value, np.repeat(np.arange(suppliers), lots))

    found = spreads(groups, scale="linear", confidence=0.9)

    low, high = found.cv_interval.T
    held = ((low < cv) & (cv < high)).mean()
    assert held == pytest.approx(0.9, abs=3.5 * math.sqrt(0.09 / suppliers))


def test_a_mean_that_may_be_zero_leaves_the_coefficient_without_an_upper_end():
    found = spreads(one_supplier(1.0, 2.0, 5), scale="linear", confidence=0.95)

    assert math.isinf(found.cv_interval[0, 1])
    assert 0.5 < found.cv_interval[0, 0] < 2.0


@pytest.mark.parametrize("mean", [0.0, -3.0])
def test_a_mean_that_is_not_above_zero_has_no_coefficient(mean):
    found = spreads(one_supplier(mean, 2.0, 5), scale="linear", confidence=0.95)

    assert np.isnan([found.cv[0], *found.cv_interval[0]]).all()
    assert found.standard_deviation == pytest.approx([2.0])


@pytest.mark.parametrize("scale", ["linear", "log"])
def test_a_stated_uncertainty_is_taken_out_of_the_spread(scale):
    """3, 4 and 5: what is found is the root of the sum of squares."""
    with_it = spreads(one_supplier(10.0, 0.5, 9, uncertainty=0.3), scale=scale, confidence=0.95)
    without = spreads(one_supplier(10.0, 0.4, 9), scale=scale, confidence=0.95)

    assert with_it.standard_deviation == pytest.approx(without.standard_deviation)
    assert with_it.cv == pytest.approx(without.cv)


def test_an_uncertainty_that_explains_all_spread_leaves_none():
    found = spreads(one_supplier(10.0, 0.5, 9, uncertainty=0.6), scale="linear", confidence=0.95)

    assert found.standard_deviation == found.cv == 0.0
    assert found.cv_interval[0, 0] == 0.0 < found.cv_interval[0, 1]


def test_lots_a_million_times_apart_have_an_endless_coefficient_and_no_warning():
    found = spreads(one_supplier(0.0, 9.0, 3), scale="log", confidence=0.95)

    assert math.isinf(found.cv_interval[0, 1])
