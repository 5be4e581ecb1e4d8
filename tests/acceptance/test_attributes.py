"""Attributes plans: the smallest that keeps both risks, counted exactly."""

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from spc.acceptance import AttributesPlan, attributes_plan, zero_acceptance
from spc.errors import InvalidInput

SHARES = np.array([0.0, 0.001, 0.01, 0.05, 0.2, 0.9, 1.0])


@pytest.mark.parametrize(("n", "c"), [(13, 0), (50, 1), (89, 2), (770, 4), (1235, 18)])
def test_the_curve_of_a_large_lot_is_binomial(n, c):
    chance = AttributesPlan(n=n, c=c).acceptance_probability(SHARES)

    assert chance == pytest.approx(stats.binom.cdf(c, n, SHARES), abs=1e-12)


@pytest.mark.parametrize(("size", "n", "c"), [(20, 5, 0), (50, 10, 1), (200, 20, 2), (31, 31, 3)])
def test_the_curve_of_a_small_lot_counts_its_possible_samples(size, n, c):
    bad = np.arange(size + 1)

    chance = AttributesPlan(n=n, c=c, lot_size=size).acceptance_probability(bad / size)

    counted = [
        sum(
            Fraction(math.comb(d, x) * math.comb(size - d, n - x), math.comb(size, n))
            for x in range(min(c, d) + 1)
            if n - x <= size - d
        )
        for d in bad.tolist()
    ]
    assert chance == pytest.approx([float(each) for each in counted], abs=1e-12)


@settings(deadline=None, max_examples=40)
@given(
    aql=st.floats(0.002, 0.05),
    ratio=st.floats(3.0, 15.0),
    producer=st.floats(0.02, 0.2),
    consumer=st.floats(0.02, 0.2),
)
def test_the_plan_for_large_lots_keeps_both_risks_and_no_smaller_one_does(
    aql, ratio, producer, consumer
):
    rql = min(aql * ratio, 0.6)

    plan = attributes_plan(aql=aql, rql=rql, producer_risk=producer, consumer_risk=consumer)

    good, bad = plan.acceptance_probability([aql, rql])
    assert good >= 1.0 - producer
    assert bad <= consumer
    assert stats.binom.cdf(plan.c, plan.n - 1, rql) > consumer
    for c in range(plan.c):
        n = np.arange(c + 1, plan.n + 1)
        keeps = (stats.binom.cdf(c, n, rql) <= consumer) & (
            stats.binom.cdf(c, n, aql) >= 1 - producer
        )
        assert not keeps.any()


@pytest.mark.parametrize("size", [5, 12, 40, 137])
@pytest.mark.parametrize(("aql", "rql"), [(0.01, 0.05), (0.02, 0.2), (0.1, 0.3)])
def test_the_plan_for_a_small_lot_is_the_first_that_a_full_search_finds(size, aql, rql):
    plan = attributes_plan(aql=aql, rql=rql, lot_size=size)

    good, bad = math.floor(aql * size + 1e-9), math.ceil(rql * size - 1e-9)
    first = next(
        (c, n)
        for c in range(size)
        for n in range(c + 1, size + 1)
        if stats.hypergeom.cdf(c, size, bad, n) <= 0.10
        and stats.hypergeom.cdf(c, size, good, n) >= 0.95
    )
    assert (plan.c, plan.n) == first
    assert plan.lot_size == size


def test_a_lot_that_no_sample_settles_is_inspected_whole():
    """Of five units none may be wrong at the AQL and one is at the RQL: only all five tell."""
    plan = attributes_plan(aql=0.05, rql=0.2, consumer_risk=0.05, lot_size=5)

    assert (plan.n, plan.c) == (5, 0)


def test_zero_acceptance_promises_the_buyer_and_nothing_to_the_supplier():
    plan = zero_acceptance(rql=0.05, consumer_risk=0.05)

    assert plan.c == 0
    assert plan.promise is not None
    assert plan.promise.aql is None
    assert plan.acceptance_probability(0.05) <= 0.05
    assert 0.95 ** (plan.n - 1) > 0.05


def test_risks_found_by_simulation_are_the_stated_ones():
    """Two hundred thousand samples of a lot of 500 units at each point; four standard errors."""
    plan = attributes_plan(aql=0.01, rql=0.06, lot_size=500)
    generator = np.random.default_rng(105)
    trials = 200_000
    for bad in (5, 30):
        counts = generator.hypergeometric(bad, 500 - bad, plan.n, size=trials)
        stated = float(plan.acceptance_probability(bad / 500))
        error = math.sqrt(stated * (1.0 - stated) / trials)
        assert error < 8e-4
        assert np.mean(counts <= plan.c) == pytest.approx(stated, abs=4.0 * error)


def test_a_count_is_accepted_up_to_c_and_says_what_share_it_does_not_exclude():
    plan = AttributesPlan(n=89, c=2)

    kept, failed, all_bad = plan.judge(2), plan.judge(3, confidence=0.9), plan.judge(89)

    assert kept.accepted
    assert stats.binom.cdf(2, 89, kept.share_at_most) == pytest.approx(0.05)
    assert not failed.accepted
    assert stats.binom.cdf(3, 89, failed.share_at_most) == pytest.approx(0.1)
    assert all_bad.share_at_most == 1.0


@settings(deadline=None)
@given(n=st.integers(2, 200), c=st.integers(0, 3), p=st.floats(0.0, 0.5))
def test_sorting_rejected_lots_never_passes_on_more_than_the_limit(n, c, p):
    plan = AttributesPlan(n=n, c=min(c, n - 1))

    worst = plan.outgoing_limit()

    assert plan.average_outgoing_quality(p) <= worst.share + 1e-12
    assert plan.average_outgoing_quality(worst.incoming) == pytest.approx(worst.share)


def test_without_acceptance_number_the_worst_outgoing_quality_has_a_closed_form():
    """p (1 - p)^n is largest at 1 / (n + 1)."""
    worst = AttributesPlan(n=30, c=0).outgoing_limit()

    assert worst.incoming == pytest.approx(1.0 / 31.0, abs=1e-7)
    assert worst.share == pytest.approx((30.0 / 31.0) ** 30 / 31.0, abs=1e-12)


def test_the_worst_outgoing_quality_of_a_small_lot_is_that_of_a_whole_number_of_units():
    plan = AttributesPlan(n=10, c=1, lot_size=60)

    worst = plan.outgoing_limit()

    every = plan.average_outgoing_quality(np.arange(61) / 60)
    assert worst.share == pytest.approx(every.max(), abs=1e-15)
    assert worst.incoming * 60 == pytest.approx(round(worst.incoming * 60))


def test_sorting_costs_the_sample_at_best_and_the_lot_at_worst():
    plan = AttributesPlan(n=50, c=1)

    assert plan.average_total_inspection([0.0, 1.0], 1000).tolist() == [50.0, 1000.0]


class TestRefusals:
    @pytest.mark.parametrize(
        "plan", [{"n": 5, "c": 5}, {"n": 5, "c": -1}, {"n": 5, "c": 0, "lot_size": 4}]
    )
    def test_numbers_that_are_no_plan(self, plan):
        with pytest.raises(InvalidInput, match="is no plan for a lot of"):
            AttributesPlan(**plan)

    @pytest.mark.parametrize("count", [-1, 6])
    def test_a_count_that_is_not_possible(self, count):
        with pytest.raises(InvalidInput, match="among 5 are not possible"):
            AttributesPlan(n=5, c=1).judge(count)

    def test_points_too_close_to_tell_apart(self):
        with pytest.raises(InvalidInput, match="more than 100000 units"):
            attributes_plan(aql=0.001, rql=0.00105)

    @pytest.mark.parametrize("size", [0, 1])
    def test_a_lot_of_one_unit(self, size):
        with pytest.raises(InvalidInput, match="cannot be sampled"):
            zero_acceptance(rql=0.1, consumer_risk=0.1, lot_size=size)

    def test_a_lot_smaller_than_its_sample(self):
        with pytest.raises(InvalidInput, match="smaller than the sample of 50"):
            AttributesPlan(n=50, c=1).average_outgoing_quality(0.1, 40)

    def test_total_inspection_of_a_lot_of_unknown_size(self):
        with pytest.raises(InvalidInput, match="size of the lot is not known"):
            AttributesPlan(n=50, c=1).average_total_inspection(0.1)
