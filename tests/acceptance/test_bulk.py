"""Plans for the average of a bulk lot: the cheapest that keeps both risks."""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from spc.acceptance import bulk_plan
from spc.errors import InvalidInput

# Heat in logarithms: bags differ by 12 %, portions of the mix by 5 %, the method repeats to 3 %.
HEAT = {
    "between_increments": 0.12,
    "between_portions": 0.05,
    "measurement": 0.03,
    "cost_increment": 2.0,
    "cost_test": 40.0,
    "accepted_mean": 0.10,
    "rejected_mean": 0.0,
}


def cheapest_by_trying(problem):
    """Every plan of up to 160 increments, 15 portions and 5 tests; slow and obvious."""
    reach = stats.norm.isf(problem.get("producer_risk", 0.05)) + stats.norm.isf(
        problem.get("consumer_risk", 0.10)
    )
    distance = abs(problem["accepted_mean"] - problem["rejected_mean"])
    best = math.inf
    for i, p, t in itertools.product(range(1, 161), range(1, 16), range(1, 6)):
        variance = (
            problem["between_increments"] ** 2 / i
            + problem["between_portions"] ** 2 / p
            + problem["measurement"] ** 2 / (p * t)
            + problem.get("method", 0.0) ** 2
        )
        if reach * math.sqrt(variance) <= distance * (1.0 + 1e-12):
            cost = (
                problem["cost_increment"] * i
                + problem.get("cost_portion", 0.0) * p
                + problem["cost_test"] * p * t
            )
            best = min(best, cost)
    return best


@pytest.mark.parametrize(
    "change",
    [
        {},
        {"cost_portion": 60.0, "measurement": 0.06},
        {"cost_increment": 50.0},
        {"method": 0.015},
        {"producer_risk": 0.01, "consumer_risk": 0.05},
        {"accepted_mean": -0.12},
        {"between_portions": 0.0},
        {"between_increments": 0.0},
    ],
)
def test_no_plan_that_keeps_both_risks_is_cheaper(change):
    problem = HEAT | change

    plan = bulk_plan(**problem)

    assert plan.cost == pytest.approx(cheapest_by_trying(problem))
    assert plan.producer_risk <= problem.get("producer_risk", 0.05)
    assert plan.consumer_risk <= problem.get("consumer_risk", 0.10)


@settings(deadline=None, max_examples=40)
@given(
    parts=st.tuples(st.floats(0.0, 0.3), st.floats(0.0, 0.1), st.floats(0.001, 0.1)),
    distance=st.floats(0.05, 0.5),
    risks=st.tuples(st.floats(0.01, 0.2), st.floats(0.01, 0.2)),
    sign=st.sampled_from([-1.0, 1.0]),
)
def test_the_curve_keeps_both_risks_on_either_side(parts, distance, risks, sign):
    plan = bulk_plan(
        between_increments=parts[0],
        between_portions=parts[1],
        measurement=parts[2],
        cost_increment=1.0,
        cost_test=20.0,
        accepted_mean=5.0 + sign * distance,
        rejected_mean=5.0,
        producer_risk=risks[0],
        consumer_risk=risks[1],
    )

    good, bad = plan.acceptance_probability([5.0 + sign * distance, 5.0])
    assert plan.side == ("lower" if sign > 0.0 else "upper")
    assert good >= 1.0 - risks[0] - 1e-12
    assert bad <= risks[1] + 1e-12
    assert [1.0 - good, bad] == pytest.approx([plan.producer_risk, plan.consumer_risk], abs=1e-12)


def test_risks_found_by_simulation_are_the_stated_ones():
    """Lots drawn part by part: increments, portions, tests; four standard errors."""
    plan = bulk_plan(**HEAT, method=0.01, cost_portion=30.0)
    generator = np.random.default_rng(10725)
    trials = 40_000
    for mean, accepted in ((0.10, 1.0 - plan.producer_risk), (0.0, plan.consumer_risk)):
        increments = generator.normal(0.0, 0.12, (trials, plan.increments)).mean(axis=1)
        portions = generator.normal(0.0, 0.05, (trials, plan.portions)).mean(axis=1)
        tests = generator.normal(0.0, 0.03, (trials, plan.portions * plan.tests)).mean(axis=1)
        found = mean + increments + portions + tests + generator.normal(0.0, 0.01, trials)
        error = math.sqrt(accepted * (1.0 - accepted) / trials)
        share = np.mean([plan.judge(each) for each in found.tolist()])
        assert error < 1.6e-3
        assert share == pytest.approx(accepted, abs=4.0 * error)


def test_an_average_on_the_limit_is_accepted_from_either_side():
    lower, upper = bulk_plan(**HEAT), bulk_plan(**(HEAT | {"accepted_mean": -0.10}))

    assert lower.judge(lower.acceptance_limit)
    assert upper.judge(upper.acceptance_limit)
    assert not lower.judge(lower.acceptance_limit - 1e-6)
    assert not upper.judge(upper.acceptance_limit + 1e-6)
    assert upper.acceptance_limit == pytest.approx(-lower.acceptance_limit)


def test_dear_tests_are_replaced_by_more_increments_and_the_reverse():
    cheap_tests = bulk_plan(**(HEAT | {"cost_test": 1.0, "cost_increment": 40.0}))
    dear_tests = bulk_plan(**(HEAT | {"cost_test": 400.0, "cost_increment": 1.0}))

    assert cheap_tests.increments < dear_tests.increments
    assert cheap_tests.portions > dear_tests.portions


def test_without_a_price_of_portions_every_test_has_a_portion_of_its_own():
    assert bulk_plan(**(HEAT | {"measurement": 0.2})).tests == 1


def test_a_perfect_measurement_of_a_uniform_lot_needs_one_test():
    plan = bulk_plan(
        **(HEAT | {"between_increments": 0.0, "between_portions": 0.0, "measurement": 0.0})
    )

    assert (plan.increments, plan.portions, plan.tests) == (1, 1, 1)
    assert plan.producer_risk == plan.consumer_risk == 0.0
    assert plan.judge(plan.acceptance_limit)


class TestRefusals:
    def test_a_method_that_no_number_of_increments_makes_good(self):
        with pytest.raises(InvalidInput, match=r"standard uncertainty of 0\.05 .* it needs 0\.146"):
            bulk_plan(**HEAT, method=0.05)

    def test_a_lot_so_uneven_that_the_search_ends_first(self):
        with pytest.raises(InvalidInput, match="no plan of up to 10000 increments"):
            bulk_plan(**(HEAT | {"between_increments": 50.0}))

    @pytest.mark.parametrize(
        ("change", "words"),
        [
            ({"measurement": -0.1}, "are not possible"),
            ({"between_increments": math.inf}, "are not possible"),
            ({"cost_test": 0.0}, "make no cheapest plan"),
            ({"cost_portion": -1.0}, "make no cheapest plan"),
            ({"producer_risk": 0.5}, "producer risk 0.5"),
            ({"consumer_risk": 0.0}, "consumer risk 0"),
            ({"accepted_mean": 0.0}, "cannot be told apart"),
            ({"accepted_mean": math.nan}, "cannot be told apart"),
        ],
    )
    def test_problems_without_a_plan(self, change, words):
        with pytest.raises(InvalidInput, match=words):
            bulk_plan(**(HEAT | change))

    def test_an_average_that_is_missing(self):
        with pytest.raises(InvalidInput, match="not a finite number"):
            bulk_plan(**HEAT).judge(math.nan)


def test_a_plan_is_a_value():
    plan = bulk_plan(**HEAT)

    assert replace(plan) == plan
