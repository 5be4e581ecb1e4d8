import math
from fractions import Fraction

import numpy as np
import pytest
from scipy import stats

from spc.compare.between_methods.method_comparison import methods
from spc.compare.between_methods.passing_bablok import passing_bablok_line
from spc.errors import InvalidInput

GENERATOR = np.random.default_rng(1983)
TRUE = GENERATOR.uniform(20.0, 100.0, 15)
X = np.round(TRUE + GENERATOR.normal(0.0, 3.0, 15), 1)
Y = np.round(1.2 * TRUE - 5.0 + GENERATOR.normal(0.0, 3.6, 15), 1)


def line(x, y, confidence=0.95):
    return passing_bablok_line(
        np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64), confidence=confidence
    )


def by_hand(x, y):
    """Pair by pair, as the paper says it, in exact fractions of the printed decimals.

    Slopes in order, and how many lie below -1.
    """
    x, y = ([Fraction(str(value)) for value in values] for values in (x, y))
    slopes = []
    for i in range(len(x)):
        for j in range(i):
            run, rise = x[i] - x[j], y[i] - y[j]
            if run == rise == 0:
                continue
            slope = math.inf if run == 0 else rise / run
            if slope != -1:
                slopes.append(slope)
    return [float(slope) for slope in sorted(slopes)], sum(slope < -1 for slope in slopes)


def test_slope_and_interval_are_the_ranked_slopes_of_the_paper():
    slopes, below = by_hand(X, Y)
    found = len(slopes)
    reach = 1.959963984540054 * math.sqrt(15 * 14 * 35 / 18)
    lowest = round((found - reach) / 2)

    result = line(X, Y)

    middle = (found + 1) // 2 + below, found // 2 + 1 + below
    assert result.slope == pytest.approx((slopes[middle[0] - 1] + slopes[middle[1] - 1]) / 2)
    assert result.slope_interval.low == pytest.approx(slopes[lowest + below - 1])
    assert result.slope_interval.high == pytest.approx(slopes[found - lowest + 1 + below - 1])
    assert result.intercept == np.median(Y - result.slope * X)
    assert result.intercept_interval.high == np.median(Y - result.slope_interval.low * X)


def test_lots_without_falling_pairs_have_the_slope_of_theil_and_sen():
    x = np.array([10.0, 14.0, 21.0, 27.0, 36.0, 40.0])
    y = np.array([11.0, 16.0, 20.0, 31.0, 37.0, 46.0])

    assert line(x, y).slope == pytest.approx(stats.theilslopes(y, x).slope)


def test_exchanging_the_methods_turns_line_and_interval_round():
    """With an odd number of slopes exactly; their mean in the middle of an even one only nearly."""
    x, y = X[:13], Y[:13]
    assert len(by_hand(x, y)[0]) % 2 == 1

    there, back = line(x, y), line(y, x)

    assert back.slope == pytest.approx(1.0 / there.slope, rel=1e-12)
    assert back.intercept == pytest.approx(-there.intercept / there.slope, rel=1e-9)
    assert back.slope_interval.low == pytest.approx(1.0 / there.slope_interval.high)
    assert back.slope_interval.high == pytest.approx(1.0 / there.slope_interval.low)


def test_one_lot_far_out_hardly_turns_the_line():
    x = np.linspace(20.0, 100.0, 21)
    y = 1.1 * x + np.tile([1.0, -1.0, 0.5], 7)
    mistaken = y.copy()
    mistaken[-1] *= 10.0

    moved = line(x, mistaken).slope - line(x, y).slope
    dragged = methods(x, mistaken).slope - methods(x, y).slope

    assert abs(moved) < 0.03
    assert dragged > 1.0


def test_lots_alike_by_one_method_stand_upright_and_by_both_count_nothing():
    x = [10.0, 10.0, 20.0, 30.0, 40.0, 50.0, 50.0]
    y = [10.0, 14.0, 22.0, 31.0, 42.0, 50.0, 50.0]
    slopes, below = by_hand(x, y)
    assert math.inf in slopes
    assert len(slopes) == 20

    found = line(x, y)

    assert below == 0
    assert found.slope == pytest.approx((slopes[9] + slopes[10]) / 2)


def test_a_slope_of_minus_one_is_left_out_though_decimals_are_rounded():
    """From 0.8 to 0.7 against 0.1 to 0.2: the quotient is -1 but for its last bit."""
    x, y = [0.8, 0.7, 1.0, 2.0, 3.0, 4.0], [0.1, 0.2, 1.1, 2.0, 3.2, 4.0]
    assert (y[1] - y[0]) / (x[1] - x[0]) != -1.0

    found = line(x, y)

    slopes, below = by_hand(x, y)
    assert (len(slopes), below) == (14, 0)
    assert found.slope == pytest.approx((slopes[6] + slopes[7]) / 2)


def test_an_interval_that_few_lots_cannot_bound_is_open():
    found = line([1.0, 2.0, 3.0, 4.0, 5.0], [1.1, 1.9, 3.2, 3.9, 5.1], confidence=0.999)

    assert found.slope_interval.low == -math.inf
    assert found.slope_interval.high == math.inf
    assert found.intercept_interval.low == -math.inf
    assert found.intercept_interval.high == math.inf


def test_the_interval_holds_the_slope_about_as_often_as_it_says():
    generator = np.random.default_rng(84)
    trials, held = 400, 0
    for _ in range(trials):
        true = generator.uniform(20.0, 100.0, 20)
        x, y = true + generator.normal(0, 4.0, 20), 1.1 * true + generator.normal(0, 4.4, 20)
        ends = line(x, y).slope_interval
        held += ends.low <= 1.1 <= ends.high

    assert held / trials == pytest.approx(0.95, abs=0.033)


def test_methods_that_run_against_each_other_are_refused():
    x = np.arange(10.0)

    with pytest.raises(InvalidInput, match="y does not rise with x"):
        line(x, -2.0 * x)


def test_too_many_lots_to_pair_are_refused_with_a_way_out():
    with pytest.raises(InvalidInput, match=r"12502500 pairwise slopes.*deming"):
        line(np.arange(5001.0), np.arange(5001.0))
