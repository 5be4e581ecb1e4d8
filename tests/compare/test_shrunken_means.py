import math

import numpy as np
import pytest
from scipy import integrate

from spc.compare.between_suppliers.shrunken_means import (
    drawn_to_center,
    restricted_log_likelihood,
    shrunken_means,
)

# Rubin (1981): effect of coaching in eight schools and its standard error.
EFFECT = np.array([28.0, 8.0, -3.0, 7.0, -1.0, 1.0, 18.0, 12.0])
ERROR = np.array([15.0, 10.0, 16.0, 11.0, 9.0, 11.0, 10.0, 18.0])


def likelihood(between):
    """As a textbook writes it: chance of the contrasts of all means to the first one."""
    contrasts = np.hstack((-np.ones((7, 1)), np.eye(7)))
    covariance = contrasts @ np.diag(ERROR**2 + between**2) @ contrasts.T
    found = contrasts @ EFFECT
    _, log_size = np.linalg.slogdet(covariance)
    return math.exp(-0.5 * (log_size + found @ np.linalg.solve(covariance, found)))


def averaged(what):
    """Over all standard deviations between suppliers, by adaptive quadrature."""
    weighted, total = (
        integrate.quad(lambda tau, f=f: f(tau) * likelihood(tau), 0.0, np.inf, limit=200)[0]
        for f in (what, lambda _: 1.0)
    )
    return weighted / total


@pytest.mark.parametrize("school", [0, 2, 6])
def test_eight_schools_are_those_of_adaptive_quadrature(school):
    def at(tau):
        weight = 1.0 / (ERROR**2 + tau**2)
        center = weight @ EFFECT / weight.sum()
        own = tau**2 * weight[school]
        mean = own * EFFECT[school] + (1.0 - own) * center
        variance = own * ERROR[school] ** 2 + (1.0 - own) ** 2 / weight.sum()
        return mean, variance, own

    mean = averaged(lambda tau: at(tau)[0])
    square = averaged(lambda tau: at(tau)[1] + at(tau)[0] ** 2)

    found = shrunken_means(EFFECT, ERROR**2)

    assert found.mean[school] == pytest.approx(mean, abs=2e-3)
    assert found.error[school] == pytest.approx(math.sqrt(square - mean**2), rel=2e-3)
    assert found.weight[school] == pytest.approx(averaged(lambda tau: at(tau)[2]), abs=1e-3)


def test_the_restricted_likelihood_is_that_of_the_contrasts():
    taus = np.array([0.0, 1.0, 10.0, 40.0])

    found = restricted_log_likelihood(taus, EFFECT, ERROR**2)

    expected = [math.log(likelihood(tau)) for tau in taus]
    assert found - found[0] == pytest.approx(np.array(expected) - expected[0], abs=1e-10)


def test_eight_schools_may_all_be_alike_and_yet_are_not_made_equal():
    found = shrunken_means(EFFECT, ERROR**2)

    assert found.between == 0.0
    assert 0.1 < found.weight.min() < found.weight.max() < 0.35
    assert found.mean[0] > found.mean[2] + 3.0


def test_four_lots_are_drawn_further_than_forty():
    mean, lots = np.array([10.0, 12.0, 14.0, 11.0, 14.0]), np.array([40, 40, 40, 40, 4])

    found = shrunken_means(mean, 4.0 / lots)

    assert found.weight[4] < found.weight[2]
    assert found.mean[2] > found.mean[4] > mean.mean()
    assert found.error[4] > 2.0 * found.error[2]


def test_balanced_suppliers_have_the_analysis_of_variance_estimate():
    """Between = (mean square between - within) / lots, where that is positive."""
    mean, variance = np.array([3.0, 9.0, 4.0, 7.0, 12.0]), np.full(5, 1.3)

    found = shrunken_means(mean, variance)

    assert found.between == pytest.approx(math.sqrt(mean.var(ddof=1) - 1.3), rel=1e-7)


def test_with_many_suppliers_all_possibilities_and_the_likeliest_agree():
    generator = np.random.default_rng(4)
    variance = generator.uniform(0.2, 2.0, size=400)
    mean = generator.normal(0.0, np.sqrt(1.0 + variance))

    found = shrunken_means(mean, variance)

    drawn, error, weight = drawn_to_center(mean, variance, np.array([[found.between]]))
    assert found.mean == pytest.approx(drawn[0], abs=0.02)
    assert found.error == pytest.approx(error[0], rel=0.03)
    assert found.weight == pytest.approx(weight[0], abs=0.005)


@pytest.mark.parametrize("suppliers", [0, 1, 2])
def test_fewer_than_three_suppliers_are_not_drawn(suppliers):
    mean, variance = np.array([10.0, 11.0])[:suppliers], np.array([4.0, 1.0])[:suppliers]

    found = shrunken_means(mean, variance)

    assert found.mean.tolist() == mean.tolist()
    assert found.error == pytest.approx(np.sqrt(variance))
    assert (found.weight == 1.0).all()
    assert math.isnan(found.between)


def test_drawing_from_so_far_apart_leaves_two_suppliers_where_they_are():
    mean, variance = np.array([10.0, 11.0]), np.array([4.0, 1.0])
    found = shrunken_means(mean, variance)

    drawn, error, _ = drawn_to_center(mean, variance, found.possible_between[:, None])

    assert drawn[0] == pytest.approx(mean, rel=1e-12)
    assert error[0] == pytest.approx(np.sqrt(variance), rel=1e-7)


def test_unit_and_zero_point_do_not_matter():
    mean, variance = np.array([3.0, 9.0, 4.0, 7.0]), np.array([1.0, 0.5, 2.0, 1.0])

    plain, moved = shrunken_means(mean, variance), shrunken_means(5.0 + 3.0 * mean, 9.0 * variance)

    assert moved.mean == pytest.approx(5.0 + 3.0 * plain.mean)
    assert moved.between == pytest.approx(3.0 * plain.between, rel=1e-6)
    assert moved.weight == pytest.approx(plain.weight)
