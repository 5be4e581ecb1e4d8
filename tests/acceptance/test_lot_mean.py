import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spc.acceptance import Method, Within, lot_mean
from spc.errors import InvalidInput

UNKNOWN = Within(sigma=math.nan, degrees=0)
KNOWN = Within(sigma=0.10, degrees=30)
OVEN = Method(
    method="oven",
    standing="routine",
    screening=False,
    relative=False,
    standard_uncertainty=0.15,
    repeatability=0.12,
)
INF = math.inf


def test_the_mean_of_skewed_heat_is_geometric_and_its_uncertainty_a_share(readings):
    lot = lot_mean(readings(20_000.0, 80_000.0), scale="log", within=KNOWN)

    assert lot.low == lot.high == lot.value == pytest.approx(40_000.0)
    assert lot.method_part == 0.025
    assert lot.uncertainty == pytest.approx(math.hypot(lot.sampling, 0.025))
    assert lot.uncertainty_in_unit == pytest.approx(40_000.0 * lot.uncertainty)


def test_on_the_linear_scale_the_uncertainty_is_in_the_unit(readings):
    moisture = readings(9.0, 10.0, characteristic="moisture", unit="g/100 g", method=OVEN)

    lot = lot_mean(moisture, scale="linear", within=Within(sigma=0.3, degrees=30))

    assert lot.value == 9.5
    assert lot.method_part == 0.15
    assert lot.uncertainty_in_unit == lot.uncertainty


@pytest.mark.parametrize(
    ("relative", "scale", "at", "share"),
    [
        (True, "log", 40_000.0, 0.1),
        (True, "linear", 40_000.0, 4_000.0),
        (True, "linear", -2.0, 0.2),
        (False, "linear", 40_000.0, 0.1),
        (False, "log", 2.0, 0.05),
        (False, "log", 0.0, INF),
    ],
)
def test_a_figure_of_a_method_is_brought_to_the_scale_of_the_line(relative, scale, at, share):
    method = replace(OVEN, relative=relative)

    assert method.on_scale(0.1, scale=scale, at=at) == pytest.approx(share)


def test_repeated_readings_are_one_sample(readings):
    lot = lot_mean(
        readings(40_000.0, 41_000.0, 40_500.0, sample=[1, 1, 2]), scale="log", within=KNOWN
    )

    assert (lot.samples, lot.readings) == (2, 3)


class TestSpreadBetweenSamples:
    def test_one_sample_rests_on_what_is_known_of_other_lots(self, readings):
        lot = lot_mean(readings(40_000.0), scale="log", within=KNOWN)

        assert lot.within == KNOWN
        assert lot.sampling == 0.10

    def test_several_samples_are_pooled_with_it_by_degrees_of_freedom(self, readings):
        several = readings(*np.exp([10.0, 10.2, 10.4]))

        lot = lot_mean(several, scale="log", within=Within(sigma=0.10, degrees=6))

        assert lot.within.degrees == 8
        assert lot.within.sigma == pytest.approx(math.sqrt((6 * 0.10**2 + 2 * 0.20**2) / 8))
        assert lot.sampling == pytest.approx(lot.within.sigma / math.sqrt(3))

    @pytest.mark.parametrize("nothing", [UNKNOWN, Within(sigma=math.nan, degrees=4)])
    def test_without_other_lots_it_is_their_own(self, readings, nothing):
        lot = lot_mean(readings(*np.exp([10.0, 10.2, 10.4])), scale="log", within=nothing)

        assert lot.within.sigma == pytest.approx(0.20)
        assert lot.within.degrees == 2

    @pytest.mark.parametrize(("degrees", "sigma"), [(4, 0.30), (5, 0.10), (50, 0.10)])
    def test_a_planning_value_is_the_floor_until_five_degrees_are_known(
        self, readings, degrees, sigma
    ):
        lot = lot_mean(
            readings(40_000.0),
            scale="log",
            within=Within(sigma=0.10, degrees=degrees),
            planning_cv=0.30,
        )

        assert lot.within == Within(sigma=sigma, degrees=degrees)

    def test_a_spread_larger_than_planned_is_kept(self, readings):
        wide = lot_mean(
            readings(*np.exp([10.0, 10.8])), scale="log", within=UNKNOWN, planning_cv=0.1
        )

        assert wide.within.sigma == pytest.approx(0.8 / math.sqrt(2.0))

    def test_a_planning_value_is_a_share_of_the_mean(self, readings):
        lot = lot_mean(readings(50.0), scale="linear", within=UNKNOWN, planning_cv=0.08)

        assert lot.within == Within(sigma=4.0, degrees=0)

    def test_where_nothing_is_known_or_planned_the_repeatability_is_the_least(self, readings):
        lot = lot_mean(readings(40_000.0), scale="log", within=UNKNOWN)

        assert lot.sampling == lot.method.repeatability > 0.0

    def test_a_known_bias_of_the_method_is_taken_out(self, readings):
        """A sensor batch that reads 8 % low: 36 800 read is 40 000 in the lot."""
        read = readings(36_800.0)
        low_reading = replace(read, method=replace(read.method, bias=-0.08))

        lot = lot_mean(low_reading, scale="log", within=UNKNOWN)

        assert lot.value == pytest.approx(40_000.0)

    def test_an_absolute_bias_leaves_open_ends_open(self, readings):
        read = readings(low=[0.0, 9.0], high=[0.5, INF])
        shifted = replace(read, method=replace(read.method, relative=False, bias=1.0))

        lot = lot_mean(shifted, scale="linear", within=UNKNOWN)

        assert (lot.low, lot.high) == (4.0, INF)

    @pytest.mark.parametrize(
        ("low", "high"),
        [([0.0] * 6, [0.5] * 6), ([17_000.0] * 6, [INF] * 6), ([9.0] * 6, [9.0] * 5 + [INF])],
        ids=["below quantification", "above range", "one above range"],
    )
    @pytest.mark.parametrize("scale", ["log", "linear"])
    def test_equal_bounds_are_no_proof_of_equal_samples(self, readings, low, high, scale):
        lot = lot_mean(readings(low=low, high=high), scale=scale, within=UNKNOWN, planning_cv=0.10)

        assert lot.within.degrees == 0
        assert lot.within.sigma > 0.0

    def test_a_narrow_interval_shows_a_spread_as_a_number_would(self, readings):
        """One minor compound below its limit leaves a sum open by a fraction of a per cent."""
        low = np.exp([10.0, 10.2, 10.4])

        lot = lot_mean(readings(low=low, high=1.004 * low), scale="log", within=UNKNOWN)

        assert lot.within.sigma == pytest.approx(0.20)
        assert lot.within.degrees == 2


@settings(deadline=None)
@given(st.integers(1, 40), st.integers(0, 20), st.floats(0.0, 0.5), st.floats(0.0, 0.5))
def test_more_samples_with_the_same_mean_never_raise_the_uncertainty(
    readings, samples, degrees, sigma, planned
):
    within = Within(sigma=sigma, degrees=degrees)

    fewer, more = (
        lot_mean(readings(*[40_000.0] * n), scale="log", within=within, planning_cv=planned)
        for n in (samples, samples + 1)
    )

    assert more.value == pytest.approx(fewer.value)
    assert more.uncertainty <= fewer.uncertainty + 1e-12
    assert more.uncertainty >= more.method_part


@settings(deadline=None)
@given(st.lists(st.floats(1e3, 1e6), min_size=1, max_size=8), st.floats(0.5, 20.0))
def test_on_the_log_scale_the_unit_does_not_matter(readings, values, stretch):
    plain = lot_mean(readings(*values), scale="log", within=KNOWN)

    other = lot_mean(readings(*np.multiply(stretch, values)), scale="log", within=KNOWN)

    assert other.value == pytest.approx(stretch * plain.value)
    assert other.uncertainty == pytest.approx(plain.uncertainty)


class TestOpenReadings:
    def test_all_below_quantification_are_below_it(self, readings):
        lot = lot_mean(readings(low=[0.0] * 3, high=[0.5] * 3), scale="log", within=KNOWN)

        assert lot.low == 0.0
        assert lot.high == pytest.approx(0.5)
        assert lot.value == lot.high
        assert lot.is_open

    def test_one_above_range_leaves_the_mean_without_an_upper_end(self, readings):
        lot = lot_mean(
            readings(low=[30_000.0, 35_000.0], high=[30_000.0, INF]), scale="linear", within=KNOWN
        )

        assert (lot.low, lot.high, lot.value) == (32_500.0, INF, 32_500.0)
        assert lot.is_open

    def test_one_below_quantification_among_numbers_bounds_the_mean_on_both_sides(self, readings):
        lot = lot_mean(readings(low=[0.0, 2.0], high=[1.0, 2.0]), scale="linear", within=KNOWN)

        assert (lot.low, lot.high, lot.value) == (1.0, 1.5, 1.25)
        assert not lot.is_open

    def test_a_number_is_not_open(self, readings):
        assert not lot_mean(readings(0.0), scale="linear", within=KNOWN).is_open

    def test_nothing_found_has_no_logarithm_but_a_mean_of_zero(self, readings):
        lot = lot_mean(readings(0.0, 0.0), scale="log", within=KNOWN)

        assert (lot.low, lot.high, lot.value) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("low", "high"), [([], []), ([math.nan], [1.0]), ([1.0], [math.nan]), ([2.0], [1.0])]
)
def test_readings_with_a_missing_or_reversed_end_are_refused_by_name(readings, low, high):
    with pytest.raises(InvalidInput, match="heat by liquid chromatography"):
        lot_mean(readings(low=low, high=high), scale="log", within=KNOWN)
