import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spc.acceptance import FACTORS, SLIPS, contradiction, likely_factors, likely_slip
from spc.errors import InvalidInput


@pytest.mark.parametrize("slip", SLIPS, ids=lambda slip: f"{slip.ratio:g}")
@pytest.mark.parametrize("scatter", [0.85, 1.0, 1.15])
def test_every_slip_is_found_through_the_scatter_of_an_honest_lot(slip, scatter):
    assert likely_slip(slip.ratio * scatter * 41_796.0, 41_796.0) is slip


@given(st.floats(0.51, 1.99), st.floats(1.0, 1e6))
def test_honest_lots_differ_and_slip_not(ratio, expected):
    assert likely_slip(ratio * expected, expected) is None


@pytest.mark.parametrize("ratio", [3.0, 1 / 3, 40.0, 1 / 40, 300.0, 5_000.0, 1e-5])
def test_a_ratio_that_fits_no_slip_has_no_cause(ratio):
    assert likely_slip(ratio, 1.0) is None


@pytest.mark.parametrize(
    ("ratio", "nearest"), [(12.0, 10.0), (13.5, 16.1), (1 / 12.0, 1 / 10), (1 / 13.5, 1 / 16.1)]
)
def test_between_two_slips_the_nearer_is_named(ratio, nearest):
    found = likely_slip(ratio, 1.0)

    assert found is not None
    assert found.ratio == nearest


@given(st.sampled_from(SLIPS), st.floats(1e-3, 1e3))
def test_the_unit_does_not_matter(slip, unit):
    assert likely_slip(slip.ratio * unit, unit) is slip


def test_every_slip_says_what_to_look_at():
    assert all(slip.cause and slip.check for slip in SLIPS)
    assert len({slip.ratio for slip in SLIPS}) == len(SLIPS)


@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf])
def test_what_is_not_positive_has_no_ratio(value):
    with pytest.raises(InvalidInput, match="no ratio"):
        likely_slip(value, 41_796.0)
    with pytest.raises(InvalidInput, match="no ratio"):
        likely_slip(41_796.0, value)
    with pytest.raises(InvalidInput, match="no ratio"):
        contradiction(printed=value, computed=1.0)
    with pytest.raises(InvalidInput, match="no ratio"):
        contradiction(printed=1.0, computed=value)


@pytest.mark.parametrize("computed", [100.0, 98.1, 101.9])
def test_rounding_is_no_contradiction(computed):
    assert contradiction(printed=100.0, computed=computed) is None


def test_a_contradiction_says_by_how_much():
    found = contradiction(printed=100.0, computed=97.0)

    assert found is not None
    assert (found.printed, found.computed) == (100.0, 97.0)
    assert found.deviation == pytest.approx(-0.03)


def test_a_laboratory_that_rounds_coarsely_is_given_its_tolerance():
    assert contradiction(printed=100.0, computed=96.0, tolerance=0.05) is None


def test_a_printed_mean_that_is_not_the_mean_of_its_four_studies():
    """Food Sci. Nutr. 2020 (DOI 10.1002/fsn3.1785): 195.27 printed, 197.845 by its own rows."""
    found = contradiction(
        printed=195.27,
        computed=(278.81 + 200.0 + 195.27 + 117.30) / 4.0,
        tolerance=0.01,
    )

    assert found is not None
    assert found.computed == pytest.approx(197.845)


class TestFactors:
    """A bias that many lots share is known well enough to name its factor."""

    @pytest.mark.parametrize("slip", FACTORS, ids=lambda slip: f"{slip.ratio:.3f}")
    def test_every_factor_is_the_nearest_to_itself(self, slip):
        assert likely_factors(slip.ratio, 0.004)[0] is slip

    @pytest.mark.parametrize(("printed", "place"), [(1.104, 0), (0.93, 1), (0.906, 2), (0.865, 3)])
    def test_the_ratios_are_those_of_the_trade_notes(self, printed, place):
        """Worked for 9.4 g/100 g moisture, 15 against 16.1, and 60 to 40 of the two compounds."""
        assert FACTORS[place].ratio == pytest.approx(printed, abs=2e-3)

    def test_two_that_lie_close_are_both_named_nearest_first(self):
        near = likely_factors(0.915, 0.01)

        assert [round(slip.ratio, 3) for slip in near] == [0.906, 0.932]

    @pytest.mark.parametrize(
        ("ratio", "error"),
        [(1.0, 0.001), (0.97, 0.02), (1.3, 0.01), (0.5, 0.01), (0.93, 0.031), (0.99, 0.002)],
    )
    def test_a_ratio_that_may_be_one_or_fits_none_or_is_known_badly_names_none(self, ratio, error):
        assert likely_factors(ratio, error) == ()

    def test_a_trader_nine_per_cent_high_over_many_lots_may_state_dry_basis(self):
        (found,) = likely_factors(1.09, 0.008)

        assert found.cause == "the other result is on dry basis, and ours as-is"

    @pytest.mark.parametrize(("ratio", "error"), [(0.0, 0.01), (math.nan, 0.01)])
    def test_what_is_not_positive_has_no_factor(self, ratio, error):
        with pytest.raises(InvalidInput, match="no ratio"):
            likely_factors(ratio, error)

    @pytest.mark.parametrize("error", [-0.01, math.nan])
    def test_an_error_that_is_none_is_refused(self, error):
        with pytest.raises(InvalidInput, match="standard error"):
            likely_factors(0.93, error)
