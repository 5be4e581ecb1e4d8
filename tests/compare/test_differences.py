import numpy as np
import pytest
from scipy import stats

from spc.compare.between_methods.differences import agreement, trend

DIFFERENCE = np.array([0.4, -1.1, 0.9, 2.2, -0.3, 1.4, 0.1, 0.8])


def test_limits_of_agreement_are_normal_percentiles_of_the_differences():
    found = agreement(DIFFERENCE, confidence=0.95)

    normal = stats.norm(DIFFERENCE.mean(), DIFFERENCE.std(ddof=1))
    assert (found.lower, found.upper) == pytest.approx(normal.interval(0.95))
    assert found.bias_error == pytest.approx(stats.sem(DIFFERENCE))


def test_their_intervals_reach_farther_out_than_in():
    """A spread may turn out larger than found by more than smaller."""
    found = agreement(DIFFERENCE, confidence=0.95)

    assert found.upper_interval.high - found.upper > found.upper - found.upper_interval.low
    assert found.lower - found.lower_interval.low == pytest.approx(
        found.upper_interval.high - found.upper
    )


def test_their_intervals_hold_the_true_limits_as_often_as_they_say():
    generator = np.random.default_rng(99)
    held = 0
    for difference in generator.normal(0.0, 1.0, (1000, 10)):
        ends = agreement(difference, confidence=0.9).upper_interval
        held += ends.low <= stats.norm.ppf(0.975) <= ends.high

    assert held / 1000 == pytest.approx(0.9, abs=0.029)


def test_the_next_difference_lies_in_the_prediction_as_often_as_it_says():
    generator = np.random.default_rng(7)
    drawn = generator.normal(3.0, 2.0, (1200, 6))
    held = 0
    for known, following in zip(drawn[:, :5], drawn[:, 5], strict=True):
        ends = agreement(known, confidence=0.95).prediction(0.8)
        held += ends.low <= following <= ends.high

    assert held / 1200 == pytest.approx(0.8, abs=0.035)


def test_the_chance_between_the_ends_of_a_prediction_is_its_confidence():
    found = agreement(DIFFERENCE, confidence=0.95)

    for confidence in (0.5, 0.9, 0.99):
        ends = found.prediction(confidence)
        assert found.chance_within(ends.low, ends.high) == pytest.approx(confidence)


def test_the_chance_of_the_next_one_errs_on_the_low_side_while_pairs_are_few():
    generator = np.random.default_rng(5)
    truth = np.diff(stats.norm(0.02, 0.06).cdf([-0.1, 0.1]))[0]

    few, many = (
        np.mean([agreement(d, confidence=0.95).chance_within(-0.1, 0.1) for d in drawn])
        for drawn in (generator.normal(0.02, 0.06, (300, n)) for n in (8, 200))
    )

    assert truth - 0.12 < few < truth
    assert many == pytest.approx(truth, abs=0.01)


def test_differences_that_never_vary_are_predicted_for_certain():
    found = agreement(np.full(5, 0.5), confidence=0.95)

    assert found.prediction().high == 0.5
    assert found.chance_within(0.0, 1.0) == 1.0
    assert found.chance_within(-1.0, 0.0) == 0.0


def test_a_trend_is_the_least_squares_slope_with_its_interval():
    day = np.array([0.0, 30.0, 61.0, 95.0, 130.0, 151.0, 190.0, 240.0])

    found = trend(day, DIFFERENCE, confidence=0.9)

    expected = stats.linregress(day, DIFFERENCE)
    reach = stats.t.ppf(0.95, 6) * expected.stderr
    assert found is not None
    assert found.slope == pytest.approx(expected.slope)
    assert found.p_value == pytest.approx(expected.pvalue)
    assert (found.interval.low, found.interval.high) == pytest.approx(
        (expected.slope - reach, expected.slope + reach)
    )


def test_growth_with_the_level_is_the_test_of_pitman_and_morgan():
    """Of unequal spreads, by the correlation of sums and differences."""
    generator = np.random.default_rng(12)
    true = generator.normal(50.0, 8.0, 30)
    x, y = true + generator.normal(0, 1.0, 30), 1.1 * true + generator.normal(0, 1.0, 30)

    found = trend((x + y) / 2.0, y - x, confidence=0.95)

    assert found is not None
    assert found.p_value == pytest.approx(stats.pearsonr(x + y, y - x).pvalue)


def test_a_trend_without_scatter_is_certain_and_none_at_all_is_none():
    place = np.arange(4.0)

    steep, level = (trend(place, d, confidence=0.95) for d in (2.0 * place, np.zeros(4)))

    assert steep is not None
    assert level is not None
    assert (steep.slope, steep.p_value) == (2.0, 0.0)
    assert (level.slope, level.p_value) == (0.0, 1.0)


def test_two_pairs_or_one_place_show_no_trend():
    assert trend(np.array([1.0, 2.0]), np.array([1.0, 2.0]), confidence=0.95) is None
    assert trend(np.ones(5), np.arange(5.0), confidence=0.95) is None
