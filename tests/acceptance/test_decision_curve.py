"""The curve of the whole decision, with measurement error in it."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from spc.acceptance import (
    DecisionCurve,
    MeasurementError,
    Risks,
    VariablesPlan,
    average_curve,
    conformity,
    estimated_outside,
    plan_curve,
)
from spc.errors import InvalidInput

TRIALS = 100_000
ERROR = MeasurementError(repeatability=0.4, method=0.25)
BOTH = Risks(consumer=0.05, producer=0.05)


def simulated(plan, mean, *, error, lower=None, upper=None, seed):
    """Accepted share of lots measured unit by unit, with a bias drawn once per lot."""
    generator = np.random.default_rng(seed)
    units = generator.normal(mean, 1.0, (TRIALS, plan.n))
    readings = units + generator.normal(0.0, 1.0, units.shape) * error.repeatability
    readings = readings + generator.normal(0.0, 1.0, (TRIALS, 1)) * error.method
    known = math.hypot(1.0, error.repeatability)
    sigma = known if plan.sigma_known else readings.std(axis=1, ddof=1)
    found = readings.mean(axis=1)
    indices = [
        each
        for each in (
            None if lower is None else (found - lower) / sigma,
            None if upper is None else (upper - found) / sigma,
        )
        if each is not None
    ]
    outside = sum(estimated_outside(q, n=plan.n, sigma_known=plan.sigma_known) for q in indices)
    accepted = np.min(indices, axis=0) >= plan.k
    if len(indices) == 2:
        accepted &= outside <= plan.most_outside
    return float(np.mean(accepted))


@pytest.mark.parametrize("sigma_known", [False, True])
@pytest.mark.parametrize("limits", [{"lower": -2.0}, {"upper": 2.0}, {"lower": -2.2, "upper": 2.2}])
@pytest.mark.parametrize("n", [5, 20])
def test_lots_measured_with_error_are_accepted_as_often_as_the_curve_says(n, limits, sigma_known):
    """A hundred thousand lots at each mean; four standard errors, none above 0.0016."""
    plan = VariablesPlan(n=n, k=1.2, sigma_known=sigma_known)
    means = [-0.9, 0.0, 0.4]

    curve = plan_curve(plan, means, within=1.0, error=ERROR, **limits)

    for place, mean in enumerate(means):
        chance = float(curve.conforming[place])
        share = simulated(plan, mean, error=ERROR, seed=100 * n + place, **limits)
        assert share == pytest.approx(chance, abs=4.0 * math.sqrt(chance * (1 - chance) / TRIALS))


@settings(deadline=None, max_examples=40)
@given(p=st.floats(0.001, 0.5), n=st.integers(3, 80), k=st.floats(0.5, 2.5), known=st.booleans())
def test_without_error_and_with_one_limit_it_is_the_curve_of_the_plan(p, n, k, known):
    plan = VariablesPlan(n=n, k=k, sigma_known=known)
    away = float(stats.norm.isf(p))

    curve = plan_curve(plan, [10.0 + 2.0 * away], within=2.0, lower=10.0)

    assert curve.conforming == pytest.approx(plan.acceptance_probability([p]), abs=1e-9)
    assert curve.outside == pytest.approx([p], abs=1e-9)
    assert curve.undecided.tolist() == [0.0]


@pytest.mark.thorough
@pytest.mark.parametrize(("n", "half"), [(5, 1.9), (5, 6.0), (10, 2.1), (35, 2.4)])
def test_two_limits_agree_with_an_integral_by_another_route(n, half):
    """Mean first, then the spread up to the largest that is accepted, by bisection and quad."""
    plan = VariablesPlan(n=n, k=1.3)
    root = math.sqrt(n - 1)

    def largest_spread(found):
        near, far = half - abs(found), half + abs(found)
        low, high = 0.0, max(near, 0.0) / plan.k
        for _ in range(60):
            middle = (low + high) / 2.0
            total = estimated_outside(near / middle, n=n) + estimated_outside(far / middle, n=n)
            low, high = (middle, high) if total <= plan.most_outside else (low, middle)
        return low

    def density(found):
        accepted = stats.chi.cdf(largest_spread(found) * root, n - 1)
        return stats.norm.pdf(found, 0.3, 1.0 / math.sqrt(n)) * accepted

    edges = [-min(half, 4.0), 0.0, 0.3, min(half, 4.6)]
    independent = sum(
        integrate.quad(density, a, b, epsabs=1e-12, epsrel=1e-10, limit=200)[0]
        for a, b in pairwise(edges)
    )

    curve = plan_curve(plan, [0.3], within=1.0, lower=-half, upper=half)

    assert curve.conforming[0] == pytest.approx(independent, abs=1e-8)


def test_two_limits_far_apart_are_one():
    plan = VariablesPlan(n=7, k=1.5)
    means = np.linspace(0.5, 3.0, 6)

    one = plan_curve(plan, means, within=1.0, error=ERROR, lower=0.0)
    two = plan_curve(plan, means, within=1.0, error=ERROR, lower=0.0, upper=1000.0)

    assert two.conforming == pytest.approx(one.conforming, abs=1e-9)


@pytest.mark.parametrize(("n", "known"), [(10, False), (400, False), (10, True)])
def test_limits_too_close_for_the_spread_accept_nothing(n, known):
    plan = VariablesPlan(n=n, k=1.7, sigma_known=known)

    curve = plan_curve(plan, [0.0], within=1.0, lower=-0.001, upper=0.001)

    assert curve.conforming == pytest.approx([0.0], abs=1e-12)
    assert curve.not_conforming == pytest.approx([1.0], abs=1e-12)


def test_limits_that_both_sides_of_a_known_spread_share_are_judged_together():
    """With limits at k on both sides the shares add up to twice what the plan allows."""
    plan = VariablesPlan(n=10, k=1.7, sigma_known=True)

    curve = plan_curve(plan, [0.0], within=1.0, lower=-1.75, upper=1.75)

    assert curve.conforming.tolist() == [0.0]


def test_repeatability_makes_a_plan_reject_good_lots():
    """A tenth of the spread within, as ISO 3951-2 allows, costs little; as much again, much."""
    plan = VariablesPlan(n=20, k=1.82)
    away = [float(stats.norm.isf(0.01))]

    def accepted(repeatability):
        error = MeasurementError(repeatability=repeatability)
        return plan_curve(plan, away, within=1.0, error=error, lower=0.0).conforming[0]

    assert accepted(0.0) - accepted(0.1) < 0.01
    assert accepted(0.0) - accepted(1.0) > 0.5


@pytest.mark.parametrize("limits", [{"lower": -1.0}, {"upper": 1.0}, {"lower": -1.0, "upper": 1.0}])
@pytest.mark.parametrize("risks", [BOTH, Risks(consumer=0.01, producer=0.2)])
def test_lot_means_are_decided_as_often_as_the_curve_says(limits, risks):
    """A hundred thousand means found at each true mean, decided by `conformity` itself."""
    generator = np.random.default_rng(106)
    truth = [-1.3, -0.6, 0.1, 0.8]

    curve = average_curve(truth, uncertainty=0.3, risks=risks, **limits)

    for place, mean in enumerate(truth):
        chance = conformity(generator.normal(mean, 0.3, TRIALS), 0.3, **limits)
        shares = (
            np.mean(chance >= 1.0 - risks.consumer),
            np.mean(~risks.decided(chance)),
            np.mean((chance <= risks.producer) & (chance < 1.0 - risks.consumer)),
        )
        stated = (curve.conforming[place], curve.undecided[place], curve.not_conforming[place])
        for share, expected in zip(shares, stated, strict=True):
            error = math.sqrt(max(expected * (1.0 - expected), 0.0) / TRIALS)
            assert share == pytest.approx(expected, abs=4.0 * error + 1e-9)


def test_one_limit_is_decided_at_its_guard_bands():
    """By hand: accepted beyond 1.645 u inside the limit, rejected beyond 1.282 u outside."""
    curve = average_curve(
        [5.0, 5.5], uncertainty=0.5, risks=Risks(consumer=0.05, producer=0.10), lower=5.0
    )

    inside, outside = stats.norm.isf(0.05), stats.norm.isf(0.10)
    assert curve.conforming == pytest.approx(stats.norm.sf([inside, inside - 1.0]), abs=1e-12)
    assert curve.not_conforming == pytest.approx(
        stats.norm.cdf([-outside, -outside - 1.0]), abs=1e-12
    )
    assert curve.outside.tolist() == [0.0, 0.0]


@settings(deadline=None, max_examples=60)
@given(
    mean=st.floats(-3.0, 3.0),
    uncertainty=st.floats(0.0, 3.0),
    half=st.floats(0.1, 3.0),
    consumer=st.floats(0.001, 0.5),
    producer=st.floats(0.001, 0.5),
)
def test_the_three_chances_are_chances_and_make_one(mean, uncertainty, half, consumer, producer):
    curve = average_curve(
        [mean],
        uncertainty=uncertainty,
        risks=Risks(consumer=consumer, producer=producer),
        lower=-half,
        upper=half,
    )

    parts = np.array([curve.conforming, curve.undecided, curve.not_conforming])
    assert np.all((parts >= 0.0) & (parts <= 1.0))
    assert parts.sum() == pytest.approx(1.0)


@settings(deadline=None, max_examples=60)
@given(mean=st.floats(-3.0, 3.0), uncertainty=st.floats(0.01, 2.0), tighter=st.floats(0.0, 1.0))
def test_a_tighter_limit_never_makes_conforming_likelier(mean, uncertainty, tighter):
    loose = average_curve([mean], uncertainty=uncertainty, risks=BOTH, lower=-1.0 - tighter)
    tight = average_curve([mean], uncertainty=uncertainty, risks=BOTH, lower=-1.0)

    assert tight.conforming[0] <= loose.conforming[0] + 1e-12


def test_a_mean_known_exactly_is_always_decided():
    curve = average_curve([0.0, 1.0, 1.1], uncertainty=0.0, risks=BOTH, lower=-1.0, upper=1.0)
    one_sided = average_curve([0.9, 1.1], uncertainty=0.0, risks=BOTH, upper=1.0)

    assert curve.conforming.tolist() == [1.0, 1.0, 0.0]
    assert curve.not_conforming.tolist() == [0.0, 0.0, 1.0]
    assert one_sided.conforming.tolist() == [1.0, 0.0]
    assert isinstance(curve, DecisionCurve)


def test_an_uncertainty_as_wide_as_the_limits_leaves_nothing_to_accept():
    curve = average_curve([0.0], uncertainty=1.0, risks=BOTH, lower=-1.0, upper=1.0)

    assert curve.conforming.tolist() == [0.0]
    assert curve.undecided[0] > 0.9


class TestRefusals:
    def test_a_curve_between_two_limits_of_three_units(self):
        with pytest.raises(InvalidInput, match="3 units are too few"):
            plan_curve(VariablesPlan(n=3, k=1.0), [0.0], within=1.0, lower=-2.0, upper=2.0)

    @pytest.mark.parametrize("within", [0.0, -1.0, math.inf, math.nan])
    def test_a_spread_that_is_not_possible(self, within):
        with pytest.raises(InvalidInput, match="a spread of"):
            plan_curve(VariablesPlan(n=5, k=1.0), [0.0], within=within, lower=-2.0)

    def test_an_error_that_is_not_possible(self):
        error = MeasurementError(method=-0.1)
        with pytest.raises(InvalidInput, match="Give a spread above zero, and errors of zero"):
            plan_curve(VariablesPlan(n=5, k=1.0), [0.0], within=1.0, error=error, lower=-2.0)

    def test_a_plan_without_a_limit(self):
        with pytest.raises(InvalidInput, match="no limit"):
            plan_curve(VariablesPlan(n=5, k=1.0), [0.0], within=1.0)

    def test_risks_at_which_a_line_would_be_both(self):
        risks = Risks(consumer=0.6, producer=0.5)
        with pytest.raises(InvalidInput, match="both at once"):
            average_curve([0.0], uncertainty=0.1, risks=risks, lower=0.0)
