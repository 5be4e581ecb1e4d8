"""Few lots: closed forms, printed factors, and the published claims met by simulation.

No printed series of self-starting scores was found; the claim of Quesenberry, C. P. (1991),
Journal of Quality Technology 23, 213-224, that they are independent and standard normal is
met by simulation.  Tolerance factors: ISO 16269-6 and Odeh and Owen (1980), from memory, and
the e-Handbook's section 7.2.6.3 (refs/tables.md 6).
"""

import math

import numpy as np
import pytest
from scipy import special, stats

from spc import charts
from spc.charts.fewlots import tolerance_width

STREAMS, LOTS = 25_000, 12


@pytest.fixture(scope="module")
def scores():
    """Scores of steady streams, from the third lot on."""
    lots = np.random.default_rng(1991).normal(41_000.0, 2_500.0, size=(STREAMS, LOTS))
    return np.array([charts.self_starting(stream) for stream in lots])[:, 2:]


@pytest.mark.thorough
def test_scores_have_mean_zero_and_variance_one_at_every_lot(scores):
    """Within four standard errors, 0.025 and 0.036."""
    assert scores.mean(axis=0) == pytest.approx(0.0, abs=4.0 / math.sqrt(STREAMS))
    assert scores.var(axis=0) == pytest.approx(1.0, abs=4.0 * math.sqrt(2.0 / STREAMS))


def test_scores_are_normal_at_every_lot(scores):
    """Largest difference between the distributions below its 1-in-10 000 quantile."""
    for lot in scores.T:
        assert stats.kstest(lot, "norm").pvalue > 1e-4


def test_scores_of_different_lots_are_independent(scores):
    """Neither they nor their squares are correlated, within 4.5 standard errors of 45 pairs."""
    for each in (scores, scores**2):
        pairs = np.corrcoef(each.T)[np.triu_indices(LOTS - 2, 1)]
        assert pairs == pytest.approx(0.0, abs=4.5 / math.sqrt(STREAMS))


def test_limits_three_sigmas_out_signal_as_seldom_as_stated(scores):
    """0.0027 within four standard errors of 250 000 scores."""
    rate = np.mean(np.abs(scores) > 3.0)

    expected = 2.0 * special.ndtr(-3.0)
    assert rate == pytest.approx(expected, abs=4.0 * math.sqrt(expected / scores.size))


@pytest.mark.parametrize("third", [3.0, -1.5, 0.0, 40.0])
def test_the_third_score_follows_the_distribution_of_cauchy(third):
    """Between -1 and 1 the statistic is x / sqrt(3), with one degree of freedom."""
    score = charts.self_starting([-1.0, 1.0, third])[2]

    chance = 0.5 + math.atan(third / math.sqrt(3.0)) / math.pi
    assert special.ndtr(score) == pytest.approx(chance, rel=1e-12)


def test_the_fourth_score_follows_the_distribution_with_two_degrees_of_freedom():
    score = charts.self_starting([-1.0, 1.0, 0.0, 2.5])[3]

    t = math.sqrt(3.0 / 4.0) * 2.5
    assert special.ndtr(score) == pytest.approx(0.5 + t / (2.0 * math.sqrt(2.0 + t * t)), rel=1e-12)


@pytest.mark.parametrize(
    ("n", "printed"), [(2, 36.519), (3, 9.789), (4, 6.341), (5, 5.077), (10, 3.393)]
)
def test_guaranteed_widths_are_the_printed_tolerance_factors(n, printed):
    assert tolerance_width(n, outside=0.05, unlucky=0.05) == pytest.approx(printed, abs=5.1e-4)


@pytest.mark.parametrize(
    ("n", "outside", "unlucky", "exact"),
    [
        (2, 0.10, 0.10, 15.5123),
        (7, 0.01, 0.10, 4.5085),
        (20, 0.01, 0.01, 4.1747),
        (43, 0.10, 0.01, 2.22282517379),
        (100, 0.01, 0.05, 2.9355),
        (500, 0.05, 0.01, 2.1174),
    ],
)
def test_guaranteed_widths_are_those_of_another_quadrature(n, outside, unlucky, exact):
    """Wald and Wolfowitz's factor with 200 nodes over the mean, to the digits recorded."""
    digits = 5.1e-12 if exact == 2.22282517379 else 5.1e-5

    assert tolerance_width(n, outside=outside, unlucky=unlucky) == pytest.approx(exact, abs=digits)
