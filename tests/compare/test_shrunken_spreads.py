import math

import numpy as np
import pytest
from scipy import special, stats

from spc.compare.between_suppliers.lots_by_supplier import grouped_lots
from spc.compare.between_suppliers.shrunken_means import shrunken_means
from spc.compare.between_suppliers.shrunken_spreads import shrunken_spreads


def suppliers_of(variances, lots):
    """Lots of just these variances."""
    values = []
    for variance, size in zip(variances, lots, strict=True):
        z = stats.norm.ppf((np.arange(size) + 0.5) / size)
        values.append(math.sqrt(variance) * (z - z.mean()) / z.std(ddof=1))
    return grouped_lots(np.concatenate(values), np.repeat(np.arange(len(lots)), lots))


def log_variances_by_brute_force(variances, lots):
    """Mean and variance of each log variance, over a fine grid and by the density of F."""
    own = np.asarray(lots) - 1.0
    spread = 2.0 * (np.arange(300) + 0.5) / 300
    degrees = np.array([degrees_of(one) for one in spread])[:, None]
    log_common = np.linspace(-16.0, 16.0, 800)
    ratio = np.asarray(variances)[:, None, None] / np.exp(log_common)
    each = stats.f.logpdf(ratio, own[:, None, None], degrees) - log_common
    chance = np.exp(each.sum(axis=0))
    chance /= chance.sum()
    for n, variance in zip(own, variances, strict=True):
        pooled = degrees * np.exp(log_common) + n * variance
        half = 0.5 * (degrees + n)
        mean = np.log(0.5 * pooled) - special.digamma(half)
        middle = (chance * mean).sum()
        yield middle, (chance * (special.polygamma(1, half) + (mean - middle) ** 2)).sum()


def degrees_of(log_spread):
    """Degrees of freedom whose log standard deviation scatters by this, by bisection."""
    low, high = 1e-2, 1e6
    for _ in range(80):
        middle = math.sqrt(low * high)
        if 0.5 * math.sqrt(float(special.polygamma(1, 0.5 * middle))) > log_spread:
            low = middle
        else:
            high = middle
    return low


@pytest.mark.parametrize(
    ("variances", "lots"),
    [
        ((1.0, 2.0, 0.4, 1.5), (5, 12, 4, 40)),
        ((1.0, 1.1, 0.9, 1.0, 1.2, 0.8), (8, 8, 8, 8, 8, 8)),
        ((0.1, 3.0, 1.0), (6, 6, 20)),
    ],
)
def test_the_possibilities_are_weighed_as_by_brute_force(variances, lots):
    found = shrunken_spreads(suppliers_of(variances, lots))

    half = found.degrees / 2.0
    mean = np.log(found.variance * half) - special.digamma(half)
    expected = np.array(list(log_variances_by_brute_force(variances, lots)))
    assert mean == pytest.approx(expected[:, 0], abs=5e-3)
    assert special.polygamma(1, half) == pytest.approx(expected[:, 1], rel=1e-2)


def test_with_many_suppliers_the_pooled_variance_is_smyth_s_with_the_true_common_one():
    """Variances from a common 1 with eight degrees of freedom; lots of four."""
    generator, suppliers, common = np.random.default_rng(8), 400, 8.0
    true = common / generator.chisquare(common, suppliers)
    value = generator.normal(size=(suppliers, 4)) * np.sqrt(true)[:, None]
    groups = grouped_lots(value.ravel(), np.repeat(np.arange(suppliers), 4))

    found = shrunken_spreads(groups)

    pooled = (common + 3.0 * groups.variance) / (common + 3.0)
    assert found.variance == pytest.approx(pooled, rel=0.15)
    assert found.degrees == pytest.approx(np.full(suppliers, 11.0), rel=0.25)


def test_four_lots_borrow_more_than_forty():
    found = shrunken_spreads(suppliers_of([1.0, 1.0, 1.0, 0.2, 0.2], [12, 12, 12, 4, 40]))

    few, many = found.variance[3:]
    assert many < few < 1.0
    assert many == pytest.approx(0.2, rel=0.1)
    assert few > 0.25
    assert found.degrees[3] > 3.0


@pytest.mark.parametrize("suppliers", [0, 1, 2])
def test_fewer_than_three_suppliers_borrow_nothing(suppliers):
    groups = suppliers_of([2.0, 0.5], [4, 9]).of(np.arange(2) < suppliers)

    found = shrunken_spreads(groups)

    assert found.variance == pytest.approx(groups.variance, rel=1e-12)
    assert found.degrees == pytest.approx(groups.degrees, rel=1e-12)


def test_the_unit_does_not_matter():
    variances, lots = np.array([1.0, 2.0, 0.4, 1.5]), [5, 12, 4, 40]

    plain = shrunken_spreads(suppliers_of(variances, lots))
    scaled = shrunken_spreads(suppliers_of(1e8 * variances, lots))

    assert scaled.variance == pytest.approx(1e8 * plain.variance, rel=1e-9)
    assert scaled.degrees == pytest.approx(plain.degrees, rel=1e-9)


def test_intervals_hold_the_truth_as_often_as_stated_and_estimates_come_closer():
    """Six suppliers of 3 to 40 lots, whose means and spreads differ; 95 % intervals."""
    generator, trials = np.random.default_rng(11), 150
    held, off = np.zeros(2), np.zeros((2, 2))
    for _ in range(trials):
        lots = generator.choice([3, 4, 8, 40], 6)
        sigma, mean = np.exp(0.3 * generator.normal(size=6)), 0.5 * generator.normal(size=6)
        code = np.repeat(np.arange(6), lots)
        groups = grouped_lots(mean[code] + sigma[code] * generator.normal(size=code.size), code)
        spread = shrunken_spreads(groups)
        drawn = shrunken_means(groups.mean, spread.variance / groups.lots)
        reach = stats.t.isf(0.025, spread.degrees) * drawn.error
        chi = spread.variance * spread.degrees / sigma**2
        tails = stats.chi2.cdf(chi, spread.degrees)
        level = np.array([drawn.mean, groups.mean]) + groups.origin - mean
        logs = 0.5 * np.log([spread.variance, groups.variance]) - np.log(sigma)
        held += (np.abs(level[0]) < reach).mean(), (np.abs(tails - 0.5) < 0.475).mean()
        off += (level**2).mean(axis=1), (logs**2).mean(axis=1)

    assert (held / trials > 0.93).all()
    assert (off[:, 0] < 0.8 * off[:, 1]).all()
