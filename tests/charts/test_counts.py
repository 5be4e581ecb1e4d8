import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from spc import charts
from spc.errors import InvalidInput, NoSpread, TooFewLots

FRAGMENTS = [4, 7, 3, 0, 5, 9, 2]
KILOGRAMS = [1.0, 2.0, 0.5, 1.0, 1.5, 2.0, 0.25]
DAMAGED, OPENED = [2, 0, 5, 1, 3], [40, 25, 60, 10, 45]
TAIL = math.erfc(3.0 / math.sqrt(2.0)) / 2.0


def exact_limits(chances, tail):
    """Smallest and largest number that a lot passes with a chance of at most `tail` a side."""
    below = above = 0.0
    low = 0
    while below + chances[low] <= tail:
        below, low = below + chances[low], low + 1
    high = len(chances) - 1
    while above + chances[high] <= tail:
        above, high = above + chances[high], high - 1
    return low, high


def poisson_chances(mean):
    return [
        math.exp(k * math.log(mean) - mean - math.lgamma(k + 1)) for k in range(int(9 * mean) + 60)
    ]


def binomial_chances(n, p):
    return [math.comb(n, k) * p**k * (1.0 - p) ** (n - k) for k in range(n + 1)]


def test_counts_without_exposure_share_one_limit():
    limits = charts.counts(FRAGMENTS)

    mean = 30 / 7
    assert limits.center == pytest.approx(mean, rel=1e-12)
    assert limits.upper == pytest.approx(mean + 3.0 * math.sqrt(mean), rel=1e-12)
    assert limits.lower == pytest.approx(0.0)
    assert [limits.exact_lower[0], limits.exact_upper[0]] == [
        *exact_limits(poisson_chances(mean), TAIL)
    ]
    assert (limits.size, limits.width) == (7, 3.0)


def test_rates_have_the_limits_of_their_exposure():
    limits = charts.counts(FRAGMENTS, exposure=KILOGRAMS)

    rate = 30 / 8.25
    for at, (found, kg) in enumerate(zip(FRAGMENTS, KILOGRAMS, strict=True)):
        low, high = exact_limits(poisson_chances(rate * kg), TAIL)
        sigma = math.sqrt(rate / kg)
        assert limits.values[at] == pytest.approx(found / kg, rel=1e-12)
        assert limits.sigma[at] == pytest.approx(sigma, rel=1e-12)
        assert limits.upper[at] == pytest.approx(rate + 3.0 * sigma, rel=1e-12)
        assert limits.lower[at] == pytest.approx(max(0.0, rate - 3.0 * sigma), rel=1e-12)
        assert limits.exact_lower[at] * kg == pytest.approx(low, abs=1e-12)
        assert limits.exact_upper[at] * kg == pytest.approx(high, rel=1e-12)


def test_proportions_have_the_limits_of_what_was_inspected():
    limits = charts.proportions(DAMAGED, OPENED)

    share = 11 / 180
    for at, (found, n) in enumerate(zip(DAMAGED, OPENED, strict=True)):
        low, high = exact_limits(binomial_chances(n, share), TAIL)
        sigma = math.sqrt(share * (1 - share) / n)
        assert limits.values[at] == pytest.approx(found / n, rel=1e-12)
        assert limits.upper[at] == pytest.approx(share + 3.0 * sigma, rel=1e-12)
        assert limits.lower[at] == pytest.approx(max(0.0, share - 3.0 * sigma), rel=1e-12)
        assert limits.exact_lower[at] * n == pytest.approx(low, abs=1e-12)
        assert limits.exact_upper[at] * n == pytest.approx(high, rel=1e-12)


@given(st.lists(st.integers(0, 400), min_size=2, max_size=12).filter(any), st.floats(0.5, 4.0))
def test_exact_limits_of_counts_are_the_narrowest_that_keep_the_risk(found, width):
    limits = charts.counts(found, width=width)

    low, high = exact_limits(poisson_chances(limits.center), limits.tail_risk)
    assert (limits.exact_lower[0], limits.exact_upper[0]) == (low, high)


@given(st.integers(2, 200), st.data())
def test_exact_limits_of_proportions_are_the_narrowest_that_keep_the_risk(n, data):
    found = data.draw(st.lists(st.integers(0, n - 1), min_size=2, max_size=9).filter(any))

    limits = charts.proportions(found, n)

    low, high = exact_limits(binomial_chances(n, limits.center), limits.tail_risk)
    assert n * limits.exact_lower[0] == pytest.approx(low)
    assert n * limits.exact_upper[0] == pytest.approx(high)


def test_the_tail_at_three_sigmas_is_the_usual_one():
    assert charts.counts(FRAGMENTS).tail_risk == pytest.approx(0.00135, abs=5e-7)


def test_sigma_limits_of_proportions_stay_between_none_and_all():
    limits = charts.proportions([4, 4], [5, 5])

    assert (limits.upper[0], limits.lower[0]) == (1.0, pytest.approx(0.8 - 3 * 0.4 / 5**0.5))


def test_equal_counts_still_have_limits():
    """Poisson counts vary as their mean says, whether or not these few did."""
    assert charts.counts([4, 4, 4]).upper == pytest.approx(10.0)


def test_one_exposure_serves_all_lots():
    assert charts.counts([8, 4], exposure=2.0).values == pytest.approx([4.0, 2.0])


CHARTS = [charts.counts, lambda c, **options: charts.proportions(c, 50, **options)]


@pytest.mark.parametrize("chart", CHARTS, ids=["counts", "proportions"])
class TestRefusals:
    @pytest.mark.parametrize("c", [[], [3]])
    def test_fewer_than_two_lots(self, chart, c):
        with pytest.raises(TooFewLots):
            chart(c)

    @pytest.mark.parametrize("c", [[1, -1], [1, 2.5], [1, math.nan], [1, math.inf]])
    def test_what_is_no_count(self, chart, c):
        with pytest.raises(InvalidInput, match="at position 1"):
            chart(c)

    def test_lots_in_which_nothing_was_found(self, chart):
        with pytest.raises(NoSpread) as refusal:
            chart([0, 0, 0])
        assert (refusal.value.value, refusal.value.lots) == (0.0, 3)

    def test_a_table_instead_of_a_list_of_lots(self, chart):
        with pytest.raises(InvalidInput, match="2 dimensions"):
            chart([[1, 2], [3, 4]])

    @pytest.mark.parametrize("width", [0.0, -1.0, math.nan, math.inf])
    def test_a_width_that_draws_no_limits(self, chart, width):
        with pytest.raises(InvalidInput, match="width"):
            chart([1, 2], width=width)


@pytest.mark.parametrize("exposure", [[1.0, 0.0], [1.0, -2.0], [1.0, math.nan], [1.0, math.inf]])
def test_an_exposure_that_is_none_is_refused(exposure):
    with pytest.raises(InvalidInput, match="exposure"):
        charts.counts([1, 2], exposure=exposure)


def test_exposures_of_other_lots_are_refused():
    with pytest.raises(InvalidInput, match="3 values stand beside 2 lots"):
        charts.counts([1, 2], exposure=[1.0, 1.0, 1.0])


@pytest.mark.parametrize("inspected", [[0, 5], [1, 5], [4.5, 5]])
def test_more_found_than_inspected_is_refused(inspected):
    with pytest.raises(InvalidInput):
        charts.proportions([2, 2], inspected)


def test_lots_in_which_everything_was_nonconforming_have_no_limits():
    with pytest.raises(NoSpread):
        charts.proportions([5, 7], [5, 7])


def test_values_handed_in_are_left_as_they_were():
    found = np.array([1.0, 2.0, 3.0])

    charts.counts(found)

    assert found.tolist() == [1.0, 2.0, 3.0]
