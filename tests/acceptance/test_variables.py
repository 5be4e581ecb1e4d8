"""Variables plans: the smallest that keeps both risks, and what it says of a sample."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from spc.acceptance import VariablesPlan, estimated_outside, variables_plan
from spc.errors import InvalidInput, NoSpread
from tests.reached import counts

SHARES = np.array([0.001, 0.01, 0.05, 0.2, 0.5, 0.9])


def noncentral_t_tail(limit, degrees, away):
    """P(T > limit) by integrating the normal over the chi distribution, without SciPy's nct."""
    root = math.sqrt(degrees)
    found, _ = integrate.quad(
        lambda s: stats.chi.pdf(s * root, degrees) * root * stats.norm.sf(limit * s - away),
        0.0,
        1.0 + 20.0 / root,
        points=[1.0],
        epsabs=1e-13,
        epsrel=1e-12,
        limit=400,
    )
    return found


@pytest.mark.parametrize(("n", "k"), [(3, 1.12), (5, 1.53), (20, 1.82), (42, 1.9014), (115, 2.286)])
def test_the_curve_is_the_chance_that_a_sample_has_an_index_of_at_least_k(n, k):
    chance = VariablesPlan(n=n, k=k).acceptance_probability(SHARES)

    root = math.sqrt(n)
    independent = [noncentral_t_tail(k * root, n - 1, root * stats.norm.isf(p)) for p in SHARES]
    assert chance == pytest.approx(independent, abs=1e-9)


def test_the_curve_with_sigma_known_is_normal():
    chance = VariablesPlan(n=21, k=1.967, sigma_known=True).acceptance_probability(SHARES)

    away = stats.norm.isf(SHARES) - 1.967
    assert chance == pytest.approx(stats.norm.cdf(away * math.sqrt(21)), abs=1e-9)


@pytest.mark.parametrize("sigma_known", [False, True])
def test_a_perfect_lot_is_accepted_and_a_lot_without_a_good_unit_is_not(sigma_known):
    plan = VariablesPlan(n=10, k=1.72, sigma_known=sigma_known)

    assert plan.acceptance_probability([0.0, 1.0]).tolist() == [1.0, 0.0]


@settings(deadline=None, max_examples=40)
@given(
    aql=st.floats(0.002, 0.05),
    ratio=st.floats(2.5, 12.0),
    producer=st.floats(0.01, 0.2),
    consumer=st.floats(0.01, 0.2),
    sigma_known=st.booleans(),
)
def test_the_plan_keeps_both_risks(aql, ratio, producer, consumer, sigma_known):
    rql = min(aql * ratio, 0.5)

    plan = variables_plan(
        aql=aql,
        rql=rql,
        producer_risk=producer,
        consumer_risk=consumer,
        sigma_known=sigma_known,
    )

    good, bad = plan.acceptance_probability([aql, rql])
    assert good >= 1.0 - producer - 1e-9
    assert bad <= consumer + 1e-9


@pytest.mark.parametrize("sigma_known", [False, True])
@pytest.mark.parametrize(("aql", "rql"), [(0.01, 0.06), (0.02, 0.08), (0.04, 0.15), (0.01, 0.3)])
def test_no_smaller_sample_would_do(aql, rql, sigma_known):
    """Every smaller n, with the k that just keeps the consumer's risk, breaks the producer's."""
    plan = variables_plan(aql=aql, rql=rql, sigma_known=sigma_known)

    smaller = np.arange(2 if sigma_known else 3, plan.n)
    root = np.sqrt(smaller)
    good, bad = stats.norm.isf(aql), stats.norm.isf(rql)
    if sigma_known:
        k = bad + stats.norm.isf(0.10) / root
        kept = stats.norm.cdf((good - k) * root)
    else:
        k = stats.nct.isf(0.10, smaller - 1, root * bad)
        kept = stats.nct.sf(k, smaller - 1, root * good)
    assert np.all(kept < 0.95)


def test_risks_found_by_simulation_are_the_stated_ones():
    """A hundred thousand lots at each point, judged one by one in bulk; four standard errors."""
    plan = variables_plan(aql=0.01, rql=0.06)
    generator = np.random.default_rng(414)
    trials = 100_000
    for share in (0.01, 0.06):
        sample = generator.standard_normal((trials, plan.n))
        mean, sigma = sample.mean(axis=1), sample.std(axis=1, ddof=1)
        accepted = np.mean((stats.norm.isf(share) - mean) / sigma >= plan.k)
        stated = float(plan.acceptance_probability(share))
        error = math.sqrt(stated * (1.0 - stated) / trials)
        assert error < 1e-3
        assert accepted == pytest.approx(stated, abs=4.0 * error)


@pytest.mark.reaches(0.9)
@settings(deadline=None, max_examples=60)
@given(
    values=st.lists(st.floats(-3.0, 3.0), min_size=5, max_size=5),
    limit=st.floats(-4.0, 4.0),
    shift=st.floats(-100.0, 100.0),
    stretch=st.floats(0.5, 50.0),
)
def test_a_judgement_does_not_depend_on_the_unit_or_the_order(values, limit, shift, stretch):
    sample = np.array(values) + np.arange(5.0)
    if not counts(bool(np.ptp(sample) >= 0.1)):
        return
    plan = VariablesPlan(n=5, k=1.24)

    plain = plan.judge(sample, lower=limit)
    moved = plan.judge(sample[::-1] * stretch + shift, lower=limit * stretch + shift)

    assert moved.quality_lower == pytest.approx(plain.quality_lower, rel=1e-6, abs=1e-6)
    assert moved.estimated_outside == pytest.approx(plain.estimated_outside, abs=1e-6)


@pytest.mark.reaches(0.9)
@settings(deadline=None, max_examples=60)
@given(
    values=st.lists(st.floats(-3.0, 3.0), min_size=7, max_size=7),
    half=st.floats(0.5, 8.0),
    tighter=st.floats(0.0, 2.0),
)
def test_a_tighter_limit_never_turns_a_rejected_lot_into_an_accepted_one(values, half, tighter):
    sample = np.array(values) + np.linspace(0.0, 1.0, 7)
    if not counts(bool(np.ptp(sample) >= 0.1)):
        return
    plan = VariablesPlan(n=7, k=1.15)

    loose = plan.judge(sample, lower=-half - tighter, upper=half)
    tight = plan.judge(sample, lower=-half, upper=half)

    assert loose.accepted or not tight.accepted


@settings(deadline=None, max_examples=60)
@given(n=st.integers(3, 60), k=st.floats(0.3, 2.5), quality=st.floats(-2.0, 4.0))
def test_index_against_k_and_share_against_its_maximum_say_the_same_with_one_limit(n, k, quality):
    plan = VariablesPlan(n=n, k=k)

    share = float(estimated_outside(quality, n=n))

    if quality >= k:
        assert share <= plan.most_outside + 1e-12
    elif share > 0.0:
        assert share >= plan.most_outside - 1e-12


@pytest.mark.parametrize("n", [3, 4, 5, 10, 50])
@pytest.mark.parametrize("p", [0.01, 0.1, 0.4])
def test_the_estimated_share_is_right_on_average(n, p):
    """Four hundred thousand samples; four standard errors of their mean estimate."""
    generator = np.random.default_rng(1955)
    mean = generator.standard_normal(400_000) / math.sqrt(n)
    sigma = np.sqrt(generator.chisquare(n - 1, size=400_000) / (n - 1))

    share = estimated_outside((stats.norm.isf(p) - mean) / sigma, n=n)

    error = share.std() / math.sqrt(share.size)
    assert error < 6e-4
    assert share.mean() == pytest.approx(p, abs=4.0 * error)


def test_the_estimated_share_with_sigma_known_is_right_on_average():
    node, weight = np.polynomial.hermite_e.hermegauss(80)
    quality = stats.norm.isf(0.07) + node / math.sqrt(6.0)

    share = weight @ estimated_outside(quality, n=6, sigma_known=True) / weight.sum()

    assert share == pytest.approx(0.07, abs=1e-12)


def test_two_limits_are_failed_by_a_spread_that_meets_each_alone():
    """Both indices reach k, yet more lies outside on both sides together than the plan allows."""
    sample = np.array([-1.0, -0.5, 0.0, 0.5, 1.0])
    edge = 1.30 * sample.std(ddof=1)
    plan = VariablesPlan(n=5, k=1.24)

    assert plan.judge(sample, lower=-edge).accepted
    assert plan.judge(sample, upper=edge).accepted
    both = plan.judge(sample, lower=-edge, upper=edge)
    assert not both.accepted
    assert both.estimated_outside > plan.most_outside
    assert both.quality_lower == pytest.approx(1.30)


def test_a_plan_with_sigma_known_is_judged_by_it():
    plan = VariablesPlan(n=4, k=1.0, sigma_known=True)

    judged = plan.judge([1.0, 1.0, 1.0, 1.0], upper=4.0, sigma=2.0)

    assert judged.accepted
    assert judged.quality_upper == 1.5
    assert judged.quality_lower is None
    assert judged.sigma == 2.0
    assert judged.outside_upper == pytest.approx(stats.norm.sf(1.5 * math.sqrt(4.0 / 3.0)))


class TestRefusals:
    @pytest.mark.parametrize(
        ("points", "words"),
        [
            ({"aql": 0.0, "rql": 0.1}, "acceptable share 0 is not between"),
            ({"aql": 0.01, "rql": 1.0}, "rejectable share 1 is not between"),
            ({"aql": 0.1, "rql": 0.1}, "not below the rejectable share"),
            ({"aql": 0.01, "rql": 0.1, "producer_risk": 0.0}, "producer risk 0"),
            ({"aql": 0.01, "rql": 0.1, "consumer_risk": math.nan}, "consumer risk nan"),
            ({"aql": 0.01, "rql": 0.1, "producer_risk": 0.6, "consumer_risk": 0.4}, "a coin"),
            ({"aql": 0.01, "rql": 0.0101}, "more than 20000 units"),
        ],
    )
    def test_points_that_no_plan_can_keep(self, points, words):
        with pytest.raises(InvalidInput, match=words):
            variables_plan(**points)

    def test_a_plan_of_too_few_units(self):
        with pytest.raises(InvalidInput, match="at least 3 units"):
            VariablesPlan(n=2, k=1.0)
        with pytest.raises(InvalidInput, match="is no plan"):
            VariablesPlan(n=5, k=math.inf)

    @pytest.mark.parametrize("values", [[1.0, 2.0], [1.0, 2.0, math.nan], [[1.0], [2.0], [3.0]]])
    def test_another_number_of_values_than_the_plan_asks_for(self, values):
        with pytest.raises(InvalidInput, match="asks for 3 measured values"):
            VariablesPlan(n=3, k=1.0).judge(values, upper=4.0)

    def test_values_that_were_copied(self):
        with pytest.raises(NoSpread):
            VariablesPlan(n=3, k=1.0).judge([2.0, 2.0, 2.0], upper=4.0)

    @pytest.mark.parametrize("sigma", [None, 0.0, math.nan])
    def test_a_known_sigma_that_is_not_given(self, sigma):
        with pytest.raises(InvalidInput, match="does not fit a plan with sigma known"):
            VariablesPlan(n=3, k=1.0, sigma_known=True).judge(
                [1.0, 2.0, 3.0], upper=4.0, sigma=sigma
            )

    def test_a_sigma_where_none_is_known(self):
        with pytest.raises(InvalidInput, match="does not fit a plan with sigma unknown"):
            VariablesPlan(n=3, k=1.0).judge([1.0, 2.0, 3.0], upper=4.0, sigma=1.0)

    def test_limits_that_are_missing_or_crossed(self):
        plan = VariablesPlan(n=3, k=1.0)
        with pytest.raises(InvalidInput, match="no limit"):
            plan.judge([1.0, 2.0, 3.0])
        with pytest.raises(InvalidInput, match="not below the upper limit"):
            plan.judge([1.0, 2.0, 3.0], lower=4.0, upper=4.0)

    @pytest.mark.parametrize("p", [-0.1, 1.1, math.nan])
    def test_a_share_that_is_none(self, p):
        with pytest.raises(InvalidInput, match="not between 0 and 1"):
            VariablesPlan(n=3, k=1.0).acceptance_probability([0.1, p])
