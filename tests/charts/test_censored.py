import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, special, stats

from spc import charts
from spc.errors import InvalidInput, NoSpread, NotPositive, TooFewLots

# Aflatoxin B1 of twelve lots, µg/kg: three below quantification, one above the range.
VALUE = [0.9, 0.5, 1.4, 2.2, 0.5, 0.7, 3.1, 1.1, 0.5, 1.8, 4.0, 2.6]
CENSORED = [0, -1, 0, 0, -1, 0, 0, 0, -1, 0, 1, 0]


def score_equations(parameters, x, side):
    """What vanishes at the maximum: the derivatives in mean and sigma, term by term."""
    mean, sigma = parameters
    by_mean = by_sigma = 0.0
    for value, code in zip(x, side, strict=True):
        z = (value - mean) / sigma
        density = math.exp(-z * z / 2.0) / math.sqrt(2.0 * math.pi)
        if code == 0:
            by_mean += z
            by_sigma += z * z - 1.0
        else:
            share = density / special.ndtr(-z if code > 0 else z) * (1.0 if code > 0 else -1.0)
            by_mean += share
            by_sigma += share * z
    return [by_mean, by_sigma]


@pytest.mark.parametrize("scale", ["linear", "log"])
def test_centre_and_spread_solve_the_score_equations(scale):
    found = charts.censored_baseline(VALUE, CENSORED, scale=scale)

    x = np.log(VALUE) if scale == "log" else np.array(VALUE)
    solved = optimize.root(
        score_equations, [x.mean(), x.std()], args=(x, CENSORED), tol=1e-14, method="hybr"
    ).x
    assert [found.center, found.sigma] == pytest.approx(solved, rel=1e-9)


def test_centre_and_spread_agree_with_a_general_maximiser():
    """Its simplex stops at a relative change of 1e-4 in the parameters by default."""
    found = charts.censored_baseline(VALUE, CENSORED, scale="linear")

    side = np.array(CENSORED)
    x = np.array(VALUE)
    data = stats.CensoredData(uncensored=x[side == 0], left=x[side == -1], right=x[side == 1])
    assert [found.center, found.sigma] == pytest.approx(stats.norm.fit(data), abs=1e-4)


def test_what_the_estimates_rest_on_is_said():
    found = charts.censored_baseline(VALUE, CENSORED, scale="log")

    assert (found.size, found.below, found.above, found.censored_lots) == (12, 3, 1, 4)
    assert found.scale == "log"


def test_without_censoring_limits_are_those_of_the_standard_deviation():
    limits = charts.censored_baseline(VALUE, np.zeros(12), scale="linear").limits(width=2.0)

    plain = charts.individuals(VALUE, sigma="standard deviation", width=2.0)
    assert [limits.center, limits.sigma] == pytest.approx([plain.center, plain.sigma], rel=1e-12)
    assert [limits.lower, limits.upper] == pytest.approx([plain.lower, plain.upper], rel=1e-12)
    assert (limits.size, limits.width) == (12, 2.0)


def test_limits_count_the_censored_lots_too():
    assert charts.censored_baseline(VALUE, CENSORED, scale="log").limits().size == 12


@pytest.mark.parametrize("censored_share", [0.2, 0.5])
def test_a_long_censored_baseline_finds_the_truth(censored_share):
    """Within 1 % of sigma among 100 000 lots, censored alike on both sides."""
    lots = np.random.default_rng(5).normal(50.0, 4.0, 100_000)
    bound = 4.0 * stats.norm.isf(censored_share / 2.0)
    side = np.where(lots < 50.0 - bound, -1, np.where(lots > 50.0 + bound, 1, 0))

    found = charts.censored_baseline(np.clip(lots, 50 - bound, 50 + bound), side, scale="linear")

    assert found.center == pytest.approx(50.0, abs=0.04)
    assert found.sigma == pytest.approx(4.0, rel=0.01)


@pytest.mark.thorough
def test_limits_of_short_censored_baselines_are_right_on_average():
    """1 000 baselines of fifteen lots, a third below quantification: sigma within 3 %."""
    generator = np.random.default_rng(6)
    sigmas = []
    for _ in range(1000):
        lots = generator.standard_normal(15)
        side = np.where(lots < -0.43, -1, 0)
        if np.count_nonzero(side == 0) >= 5:
            found = charts.censored_baseline(np.maximum(lots, -0.43), side, scale="linear")
            sigmas.append(found.limits().sigma)

    assert np.mean(sigmas) == pytest.approx(1.0, abs=0.03)


@given(
    st.lists(st.tuples(st.integers(1, 500), st.sampled_from([-1, 1, 0])), max_size=12),
    st.lists(st.integers(1, 500), min_size=5, max_size=12, unique=True),
)
def test_any_baseline_ends_where_no_step_is_left(censored, exact):
    x = np.array([*exact, *(value for value, _ in censored)], dtype=float)
    side = [0] * len(exact) + [code for _, code in censored]

    found = charts.censored_baseline(x, side, scale="linear")

    left = score_equations([found.center, found.sigma], x, side)
    assert left == pytest.approx([0.0, 0.0], abs=1e-7 * len(x))


@given(st.floats(0.01, 100.0), st.floats(-100.0, 100.0))
def test_centre_and_spread_move_and_stretch_with_the_unit(stretch, shift):
    plain = charts.censored_baseline(VALUE, CENSORED, scale="linear")

    other = charts.censored_baseline(stretch * np.array(VALUE) + shift, CENSORED, scale="linear")

    assert other.center == pytest.approx(stretch * plain.center + shift, abs=1e-9)
    assert other.sigma == pytest.approx(stretch * plain.sigma, rel=1e-9)


@pytest.mark.parametrize(
    ("bounds", "side"),
    [([1.0], [-1]), ([1e3] * 50, [1] * 50), ([1e3] * 50 + [-1e3] * 50, [1] * 50 + [-1] * 50)],
    ids=["one below", "many above", "many on both sides"],
)
def test_bounds_far_from_what_was_measured_have_their_say(bounds, side):
    """Whole Newton steps would lose likelihood or turn sigma negative here."""
    measured = [10.0, 10.1, 9.9, 10.2, 9.8]

    found = charts.censored_baseline([*measured, *bounds], [0] * 5 + side, scale="linear")

    left = score_equations([found.center, found.sigma], [*measured, *bounds], [0] * 5 + side)
    assert left == pytest.approx([0.0, 0.0], abs=1e-7)


class TestRefusals:
    @pytest.mark.parametrize("exact", [0, 1, 4])
    def test_fewer_than_five_lots_that_are_not_censored(self, exact):
        side = [0] * exact + [-1] * (12 - exact)
        with pytest.raises(TooFewLots) as refusal:
            charts.censored_baseline(VALUE, side, scale="linear")
        assert (refusal.value.needed, refusal.value.given) == (5, exact)

    def test_no_lots_at_all(self):
        with pytest.raises(TooFewLots):
            charts.censored_baseline([], [], scale="linear")

    def test_lots_not_censored_that_are_all_alike(self):
        with pytest.raises(NoSpread):
            charts.censored_baseline([2.0] * 5 + [0.5], [0] * 5 + [-1], scale="linear")

    @pytest.mark.parametrize("gap", [math.nan, math.inf, -math.inf])
    def test_a_gap_is_named_by_its_position(self, gap):
        with pytest.raises(InvalidInput, match="at position 2"):
            charts.censored_baseline([1.0, 2.0, gap], [0, 0, 0], scale="linear")

    @pytest.mark.parametrize("value", [0.0, -0.5])
    def test_what_has_no_logarithm_is_named_by_its_position(self, value):
        with pytest.raises(NotPositive) as refusal:
            charts.censored_baseline([1.0, value], [0, -1], scale="log")
        assert refusal.value.position == 1

    @pytest.mark.parametrize("code", [2, 0.5, math.nan])
    def test_a_lot_bounded_on_both_sides_is_named_by_its_position(self, code):
        with pytest.raises(InvalidInput, match="at position 1"):
            charts.censored_baseline([1.0, 2.0], [0, code], scale="linear")

    def test_codes_of_other_lots(self):
        with pytest.raises(InvalidInput, match="differ in length"):
            charts.censored_baseline([1.0, 2.0], [0], scale="linear")

    def test_a_table_instead_of_a_list_of_lots(self):
        with pytest.raises(InvalidInput, match="2 dimensions"):
            charts.censored_baseline([[1.0, 2.0]], [[0, 0]], scale="linear")

    def test_an_unknown_scale(self):
        with pytest.raises(InvalidInput, match="scale 'cubic'"):
            charts.censored_baseline(VALUE, CENSORED, scale="cubic")  # type: ignore[arg-type]

    @pytest.mark.parametrize("width", [0.0, math.nan])
    def test_a_width_that_draws_no_limits(self, width):
        with pytest.raises(InvalidInput, match="width"):
            charts.censored_baseline(VALUE, CENSORED, scale="log").limits(width=width)
