import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from spc.acceptance import conformity, guard_band
from spc.errors import InvalidInput

values = st.floats(-50.0, 50.0)
spreads = st.floats(0.01, 20.0)
widths = st.floats(0.0, 30.0)


@given(values, spreads, values, widths)
def test_the_chance_is_that_of_the_normal_distribution_between_the_limits(value, u, lower, width):
    upper = lower + width
    true = norm(value, u)

    both = true.cdf(upper) - true.cdf(lower)

    assert conformity(value, u, lower=lower, upper=upper) == pytest.approx(both, abs=1e-12)
    assert conformity(value, u, upper=upper) == pytest.approx(true.cdf(upper), abs=1e-12)
    assert conformity(value, u, lower=lower) == pytest.approx(true.sf(lower), abs=1e-12)


def test_the_chance_is_how_often_the_truth_lies_within_the_limits():
    """Two hundred thousand truths around 42 000 ± 3 000 SHU; four standard errors of a share."""
    truth = np.random.default_rng(106).normal(42_000.0, 3_000.0, size=200_000)
    share = np.mean((truth >= 38_000.0) & (truth <= 48_000.0))
    standard_error = math.sqrt(share * (1.0 - share) / truth.size)

    chance = conformity(42_000.0, 3_000.0, lower=38_000.0, upper=48_000.0)

    assert standard_error < 8e-4
    assert chance == pytest.approx(share, abs=4.0 * standard_error)


def test_lots_released_at_the_guard_band_are_wrong_as_often_as_the_risk_says():
    """The truth of lots measured exactly at the acceptance limit, 5 % of which fail."""
    band = guard_band(0.06, risk=0.05)
    truth = np.random.default_rng(8).normal(-band, 0.06, size=200_000)

    assert np.mean(truth > 0.0) == pytest.approx(0.05, abs=4.0 * math.sqrt(0.05 * 0.95 / 2e5))


@given(values, spreads, st.floats(0.0, 30.0))
def test_two_limits_are_met_alike_from_either_side_of_their_middle(value, u, half):
    above = conformity(value, u, lower=-half, upper=half)

    assert conformity(-value, u, lower=-half, upper=half) == pytest.approx(above, abs=1e-15)


@given(values, spreads, values)
def test_what_one_limit_fails_the_other_side_of_it_holds(value, u, limit):
    inside, outside = conformity(value, u, upper=limit), conformity(value, u, lower=limit)

    assert inside + outside == pytest.approx(1.0)


@given(values, spreads, st.floats(0.0, 1e6), st.floats(1e-3, 1e3))
def test_the_chance_does_not_depend_on_the_unit(value, u, shift, stretch):
    plain = conformity(value, u, lower=-10.0, upper=10.0)

    moved = conformity(
        stretch * value + shift,
        stretch * u,
        lower=-10.0 * stretch + shift,
        upper=10.0 * stretch + shift,
    )

    assert moved == pytest.approx(plain, abs=1e-4)


@given(values, spreads, values, widths, st.floats(0.0, 20.0))
def test_a_tighter_limit_never_raises_the_chance(value, u, lower, width, tighter):
    loose = conformity(value, u, lower=lower, upper=lower + width + tighter)

    assert conformity(value, u, lower=lower, upper=lower + width) <= loose + 1e-15


def test_a_tiny_chance_keeps_its_digits_on_both_sides():
    far_below = conformity(0.0, 1.0, lower=10.0, upper=11.0)
    far_above = conformity(0.0, 1.0, lower=-11.0, upper=-10.0)

    assert far_below == pytest.approx(7.619853e-24, rel=1e-6)
    assert far_above == pytest.approx(far_below, rel=1e-9)


@pytest.mark.parametrize(
    ("value", "chance"), [(5.0, 1.0), (4.999, 1.0), (5.001, 0.0), (2.0, 1.0), (1.999, 0.0)]
)
def test_an_exactly_known_value_conforms_up_to_and_on_the_limits(value, chance):
    assert conformity(value, 0.0, lower=2.0, upper=5.0) == chance


@pytest.mark.parametrize("u", [0.0, 0.3, math.inf])
def test_an_endless_value_lies_on_its_side_of_every_limit(u):
    """The far end of a reading above the range, or the logarithm of nothing found."""
    assert conformity(math.inf, u, lower=5.0) == 1.0
    assert conformity(math.inf, u, upper=5.0) == 0.0
    assert conformity(-math.inf, u, upper=5.0) == 1.0
    assert conformity(-math.inf, u, lower=5.0) == 0.0
    assert conformity(-math.inf, u, lower=1.0, upper=5.0) == 0.0


@pytest.mark.parametrize("u", [0.0, 0.3])
@pytest.mark.parametrize("limits", [{"upper": 5.0}, {"lower": 5.0}, {"lower": 1.0, "upper": 5.0}])
def test_a_missing_value_has_no_chance_not_even_a_good_one(u, limits):
    assert np.isnan(conformity(math.nan, u, **limits))


def test_nothing_known_leaves_an_even_chance():
    assert conformity(3.0, math.inf, upper=5.0) == 0.5


def test_many_lots_at_once_are_the_lots_one_by_one():
    value, u = np.array([3.0, 5.0, 7.0]), np.array([1.0, 0.0, 2.0])

    together = conformity(value, u, lower=2.0, upper=6.0)

    alone = [float(conformity(v, s, lower=2.0, upper=6.0)) for v, s in zip(value, u, strict=True)]
    assert together.tolist() == alone
    assert conformity(value, 1.0, upper=6.0).shape == (3,)
    assert conformity(3.0, u, upper=6.0).shape == (3,)


@settings(deadline=None)
@given(st.floats(0.0, 10.0), st.floats(0.001, 0.499))
def test_a_value_on_the_acceptance_limit_takes_exactly_the_risk(u, risk):
    band = guard_band(u, risk=risk)

    assert band >= 0.0
    if u > 1e-6:
        assert conformity(10.0 - band, u, upper=10.0) == pytest.approx(1.0 - risk, abs=1e-7)


class TestRefusals:
    @pytest.mark.parametrize("u", [-0.1, math.nan, [0.1, -0.1]])
    def test_an_uncertainty_that_is_negative_or_missing(self, u):
        with pytest.raises(InvalidInput, match="negative or missing"):
            conformity(1.0, u, upper=2.0)

    def test_a_line_without_a_limit(self):
        with pytest.raises(InvalidInput, match="no limit"):
            conformity(1.0, 0.1)

    def test_limits_that_are_crossed(self):
        with pytest.raises(InvalidInput, match="lower limit 3 lies above the upper limit 2"):
            conformity(1.0, 0.1, lower=3.0, upper=2.0)

    @pytest.mark.parametrize("risk", [0.0, 1.0, -0.1, 5.0, math.nan])
    def test_a_risk_that_is_no_probability(self, risk):
        with pytest.raises(InvalidInput, match="not a probability"):
            guard_band(1.0, risk=risk)

    @pytest.mark.parametrize("u", [-1.0, math.nan])
    def test_a_guard_band_of_a_negative_or_missing_uncertainty(self, u):
        with pytest.raises(InvalidInput, match="not possible"):
            guard_band(u, risk=0.05)
