import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from spc import charts
from spc.charts.limits import SigmaMethod
from spc.errors import InvalidInput, NoSpread, NotPositive, TooFewLots

HEAT = [41_000.0, 38_500.0, 44_200.0, 40_100.0, 39_800.0, 47_300.0]
SIGMA_METHODS: tuple[SigmaMethod, ...] = (
    "moving range",
    "median moving range",
    "standard deviation",
)
heats = st.lists(st.integers(10_000, 90_000), min_size=4, max_size=30, unique=True)


@pytest.mark.parametrize("method", SIGMA_METHODS)
def test_every_estimate_of_sigma_is_right_on_average_for_steady_lots(method):
    lots = np.random.default_rng(2).normal(50.0, 4.0, size=100_000)

    limits = charts.individuals(lots, sigma=method)

    assert limits.sigma == pytest.approx(4.0, rel=0.01)
    assert limits.center == pytest.approx(50.0, abs=0.05)


def test_each_estimate_of_sigma_follows_its_formula():
    x = [1.0, 4.0, 2.0, 8.0]

    sigma = {method: charts.individuals(x, sigma=method).sigma for method in SIGMA_METHODS}

    assert sigma["moving range"] == pytest.approx(11.0 / 3.0 / charts.d2(2))
    assert sigma["median moving range"] == pytest.approx(3.0 / 0.9538725524)
    assert sigma["standard deviation"] == pytest.approx(np.std(x, ddof=1) / charts.c4(4))


def test_limits_say_how_many_lots_and_how_many_sigmas_they_rest_on():
    limits = charts.individuals(HEAT, width=2.0)

    assert (limits.size, limits.width) == (6, 2.0)
    assert limits.scores([limits.lower, limits.center, limits.upper]) == pytest.approx([-2, 0, 2])


@given(heats, st.sampled_from(SIGMA_METHODS))
def test_limits_move_and_stretch_with_the_unit(x, method):
    plain = charts.individuals(x, sigma=method)

    other = charts.individuals(2.0 * np.array(x) + 7.0, sigma=method)

    assert other.sigma == pytest.approx(2.0 * plain.sigma)
    assert other.lower == pytest.approx(2.0 * plain.lower + 7.0, abs=1e-6)


@given(heats)
def test_a_drift_widens_limits_from_all_values_but_not_from_neighbours(x):
    drifting = np.sort(np.array(x, dtype=float))

    from_neighbours = charts.individuals(drifting).sigma

    assert from_neighbours <= charts.individuals(x).sigma * (1.0 + 1e-9)


def test_moving_range_limits_use_the_spread_of_a_range_of_two():
    limits = charts.moving_range(HEAT)

    mean = np.abs(np.diff(HEAT)).mean()
    assert limits.center == pytest.approx(mean)
    assert limits.upper == pytest.approx(3.2665 * mean, rel=1e-4)
    assert limits.lower == 0.0
    assert limits.size == 6


def test_narrow_moving_range_limits_have_a_lower_one():
    assert charts.moving_range(HEAT, width=1.0).lower > 0.0


@pytest.mark.parametrize("chart", [charts.individuals, charts.moving_range])
class TestRefusals:
    @pytest.mark.parametrize("x", [[], [5.0]])
    def test_fewer_than_two_lots(self, chart, x):
        with pytest.raises(TooFewLots) as refusal:
            chart(x)
        assert (refusal.value.needed, refusal.value.given) == (2, len(x))

    def test_lots_that_are_all_alike(self, chart):
        with pytest.raises(NoSpread) as refusal:
            chart([12.5, 12.5, 12.5])
        assert (refusal.value.value, refusal.value.lots) == (12.5, 3)

    def test_lots_that_differ_by_rounding_only(self, chart):
        with pytest.raises(NoSpread):
            chart([0.3, 0.1 + 0.2, 0.3])

    @pytest.mark.parametrize("gap", [math.nan, math.inf])
    def test_a_gap_is_named_by_its_position(self, chart, gap):
        with pytest.raises(InvalidInput, match="at position 2"):
            chart([1.0, 2.0, gap, 4.0])

    def test_a_table_instead_of_a_list_of_lots(self, chart):
        with pytest.raises(InvalidInput, match="2 dimensions"):
            chart([[1.0, 2.0]])

    @pytest.mark.parametrize("width", [0.0, -1.0, math.nan, math.inf])
    def test_a_width_that_draws_no_limits(self, chart, width):
        with pytest.raises(InvalidInput, match="width"):
            chart(HEAT, width=width)


def test_results_rounded_until_most_neighbours_agree_have_no_median_moving_range():
    with pytest.raises(InvalidInput, match="moving ranges are zero"):
        charts.individuals([5.0, 5.0, 5.0, 5.1], sigma="median moving range")


def test_an_unknown_way_to_estimate_sigma_is_met_with_the_known_ones():
    with pytest.raises(InvalidInput, match="median moving range"):
        charts.individuals(HEAT, sigma="guess")  # type: ignore[arg-type]


@given(heats)
def test_the_log_scale_is_undone_by_the_exponential(x):
    assert np.exp(charts.on_log_scale(x)) == pytest.approx(x)


def test_a_gap_stays_a_gap_on_the_log_scale():
    assert charts.on_log_scale([1.0, math.nan]) == pytest.approx([0.0, math.nan], nan_ok=True)


@pytest.mark.parametrize("value", [0.0, -0.5])
def test_what_has_no_logarithm_is_named_by_its_position(value):
    with pytest.raises(NotPositive) as refusal:
        charts.on_log_scale([3.0, value, 2.0])
    assert (refusal.value.position, refusal.value.value) == (1, value)
