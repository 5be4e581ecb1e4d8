import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, special

from spc import charts
from spc.charts.modified import WithinLot
from spc.errors import InvalidInput, NoSpread, NotPositive, TooFewLots

# Moisture of five lots, g/100 g, of as many bags as were opened.
LOTS = [[10.1, 10.4, 9.9], [10.8, 11.0], [9.7, 9.8, 10.3, 9.9, 10.0], [10.6], [10.2, 10.9, 10.5]]
FLAT = np.concatenate([np.array(lot) for lot in LOTS])
STARTS = [0, 3, 5, 10, 11]
lots = st.lists(
    st.lists(st.integers(100, 999), min_size=2, max_size=6, unique=True), min_size=2, max_size=8
)


def spread_moments(spread, n):
    """Mean and standard deviation of s or range in sigmas, by integrals written out."""
    if spread == "standard deviation":
        # s sqrt(n - 1) / sigma is the length of a normal vector of n - 1 dimensions.
        log_scale = math.lgamma((n - 1) / 2) + ((n - 3) / 2) * math.log(2.0)
        mean = integrate.quad(
            lambda r: math.exp((n - 1) * math.log(r) - r * r / 2 - log_scale) if r else 0.0,
            0.0,
            14.0,
            epsabs=1e-13,
            limit=200,
        )[0] / math.sqrt(n - 1)
        return mean, math.sqrt(1.0 - mean**2)
    low = np.arange(-10.0, 10.0, 0.05)[:, None]
    node, weight = np.polynomial.legendre.leggauss(120)
    w = 8.0 * (node + 1.0)
    ends = np.exp(-(low**2 + (low + w) ** 2) / 2.0) / (2.0 * math.pi)
    inside = special.ndtr(low + w) - special.ndtr(low)
    density = n * (n - 1) * (ends * inside ** (n - 2)).sum(axis=0) * 0.05 * 8.0 * weight
    mean = (density * w).sum()
    return mean, math.sqrt((density * w**2).sum() - mean**2)


def slow_subgroups(groups, spread, width):
    """Sigma, and one row (mean, its limits, spread, its limits) a lot, by loops."""
    estimates, weights = [], []
    for lot in groups:
        if len(lot) > 1:
            mean, deviation = spread_moments(spread, len(lot))
            found = np.std(lot, ddof=1) if spread == "standard deviation" else max(lot) - min(lot)
            estimates.append(found / mean)
            weights.append(mean**2 / deviation**2)
    sigma = sum(e * w for e, w in zip(estimates, weights, strict=True)) / sum(weights)
    center = sum(map(sum, groups)) / sum(map(len, groups))
    rows = []
    for lot in groups:
        n = len(lot)
        mean, deviation = spread_moments(spread, n) if n > 1 else (math.nan, math.nan)
        rows.append(
            (
                center - width * sigma / math.sqrt(n),
                center + width * sigma / math.sqrt(n),
                sigma * mean,
                math.nan if n == 1 else max(0.0, sigma * (mean - width * deviation)),
                sigma * (mean + width * deviation),
            )
        )
    return sigma, center, np.array(rows).T


@pytest.mark.parametrize("spread", ["standard deviation", "range"])
@pytest.mark.parametrize("width", [3.0, 1.5])
def test_limits_of_unequal_lots_agree_with_a_loop_over_them(spread, width):
    means, spreads = charts.subgroups(LOTS, spread=spread, width=width)

    sigma, center, rows = slow_subgroups(LOTS, spread, width)
    assert means.within_sigma == pytest.approx(sigma, rel=1e-9)
    assert means.center == pytest.approx(center, rel=1e-12)
    found = [means.lower, means.upper, spreads.center, spreads.lower, spreads.upper]
    assert np.array(found) == pytest.approx(rows, rel=1e-9, nan_ok=True)


def test_limits_say_how_many_lots_and_readings_they_rest_on():
    means, spreads = charts.subgroups(LOTS, width=2.0)

    assert (means.size, means.width, spreads.size) == (5, 2.0, 5)
    assert means.readings.tolist() == [3, 2, 5, 1, 3]
    assert means.scores(means.upper) == pytest.approx(2.0)


def test_lists_of_readings_and_flat_readings_are_the_same_lots():
    listed, flat = charts.subgroups(LOTS), charts.subgroups(FLAT, STARTS)

    for one, other in zip(listed, flat, strict=True):
        assert one.upper == pytest.approx(other.upper, rel=1e-15, nan_ok=True)


def test_a_table_is_a_lot_a_row():
    table = np.arange(12.0).reshape(3, 4) ** 2

    assert charts.subgroups(table)[0].upper == pytest.approx(charts.subgroups([*table])[0].upper)


@given(lots, st.sampled_from(["standard deviation", "range"]))
def test_limits_move_and_stretch_with_the_unit(groups, spread):
    plain, stretched = (
        charts.subgroups([a * np.array(lot) + b for lot in groups], spread=spread)
        for a, b in ((1.0, 0.0), (0.5, 30.0))
    )

    assert stretched[0].upper == pytest.approx(0.5 * plain[0].upper + 30.0)
    assert stretched[1].upper == pytest.approx(0.5 * plain[1].upper)


@pytest.mark.parametrize("spread", ["standard deviation", "range"])
def test_sigma_is_right_on_average_whatever_the_sizes(spread):
    """Over 12 000 lots of two to six readings the estimate stays within four of its errors."""
    generator = np.random.default_rng(7)
    sizes = generator.integers(2, 7, size=12_000)
    starts = np.cumsum(sizes) - sizes

    means, _ = charts.subgroups(generator.normal(5.0, 2.0, sizes.sum()), starts, spread=spread)

    assert means.within_sigma == pytest.approx(2.0, abs=4.0 * 2.0 / math.sqrt(2.0 * 36_000))


def test_components_agree_with_a_loop_over_lots():
    found = charts.between_within(LOTS)

    k, total = len(LOTS), FLAT.size
    grand = sum(FLAT) / total
    within = sum((x - np.mean(lot)) ** 2 for lot in LOTS for x in lot) / (total - k)
    between = sum(len(lot) * (np.mean(lot) - grand) ** 2 for lot in LOTS) / (k - 1)
    typical = (total - sum(len(lot) ** 2 for lot in LOTS) / total) / (k - 1)
    assert found.within_sigma == pytest.approx(math.sqrt(within), rel=1e-12)
    assert found.between_sigma == pytest.approx(math.sqrt((between - within) / typical), rel=1e-12)
    assert (found.floored, found.size, found.readings) == (False, 5, 14)


def test_components_of_simulated_lots_are_right_on_average():
    generator = np.random.default_rng(11)
    sizes = generator.integers(1, 5, size=40_000)
    lot = np.repeat(generator.normal(0.0, 3.0, sizes.size), sizes)
    readings = lot + generator.normal(0.0, 2.0, lot.size)

    found = charts.between_within(readings, np.cumsum(sizes) - sizes)

    assert found.within_sigma == pytest.approx(2.0, rel=0.01)
    assert found.between_sigma == pytest.approx(3.0, rel=0.015)


def test_lot_means_are_judged_by_how_they_follow_each_other():
    found = charts.between_within(LOTS, width=2.0)

    means = [np.mean(lot) for lot in LOTS]
    assert found.lot_means == charts.individuals(means, width=2.0)
    assert found.within.upper == pytest.approx(
        charts.subgroups(LOTS, width=2.0)[1].upper, nan_ok=True
    )


def test_means_closer_than_readings_explain_have_no_component_and_say_so():
    found = charts.between_within([[1.0, 5.0], [2.0, 4.1], [0.0, 6.0]])

    assert (found.between_sigma, found.floored) == (0.0, True)


def test_components_serve_modified_limits():
    within: WithinLot = charts.between_within(LOTS)

    assert charts.modified_limits(within, samples=3, upper=12.0).size == 5


@pytest.mark.parametrize("chart", [charts.subgroups, charts.between_within])
class TestRefusals:
    @pytest.mark.parametrize("groups", [[], [[1.0, 2.0]], np.zeros((0, 3))])
    def test_fewer_than_two_lots(self, chart, groups):
        with pytest.raises(TooFewLots):
            chart(groups)

    def test_flat_readings_of_no_lot(self, chart):
        with pytest.raises(TooFewLots):
            chart([], [])

    def test_a_lot_without_a_reading_is_named(self, chart):
        with pytest.raises(InvalidInput, match="lot 1 has no reading"):
            chart([[1.0, 2.0], [], [3.0]])

    def test_lots_of_one_reading_show_no_spread_within(self, chart):
        with pytest.raises(InvalidInput, match="single reading"):
            chart([[1.0], [2.0], [3.0]])

    @pytest.mark.parametrize("groups", [[[0.3, 0.1 + 0.2], [0.3, 0.3]], [[4.0, 4.0], [5.0, 5.0]]])
    def test_lots_whose_readings_are_all_alike(self, chart, groups):
        with pytest.raises(NoSpread):
            chart(groups)

    @pytest.mark.parametrize("gap", [math.nan, math.inf, -math.inf])
    def test_a_reading_that_is_no_number_is_named_by_its_position(self, chart, gap):
        with pytest.raises(InvalidInput, match="at position 3"):
            chart([[1.0, 2.0], [3.0, gap]])

    @pytest.mark.parametrize("starts", [[1, 2], [0, 0], [0, 9], [[0, 2]]])
    def test_starts_that_begin_no_lots(self, chart, starts):
        with pytest.raises(InvalidInput, match="starts"):
            chart([1.0, 2.0, 3.0], starts)

    @pytest.mark.parametrize("groups", [5.0, "12"])
    def test_readings_that_are_no_list(self, chart, groups):
        with pytest.raises(InvalidInput, match="lot by lot"):
            chart(groups)

    @pytest.mark.parametrize("width", [0.0, -1.0, math.nan, math.inf])
    def test_a_width_that_draws_no_limits(self, chart, width):
        with pytest.raises(InvalidInput, match="width"):
            chart(LOTS, width=width)

    def test_a_reading_without_a_logarithm_is_refused_before_it_is_charted(self, chart):
        with pytest.raises(NotPositive):
            chart(charts.on_log_scale([-1.0, 2.0, 3.0, 4.0]), [0, 2])


def test_lots_with_equal_means_have_no_individuals_chart():
    with pytest.raises(NoSpread):
        charts.between_within([[1.0, 3.0], [0.0, 4.0]])


def test_an_unknown_spread_is_met_with_the_known_ones():
    with pytest.raises(InvalidInput, match="range"):
        charts.subgroups(LOTS, spread="guess")  # type: ignore[arg-type]
