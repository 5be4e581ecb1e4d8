import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from spc.compare.between_methods.deming import (
    deming_line,
    error_ratio,
    levels,
    weighted_deming_line,
)
from spc.compare.between_methods.method_comparison import methods
from spc.errors import InvalidInput
from tests.reached import counts

REFERENCE = np.array([31.2, 36.8, 40.1, 44.9, 52.3, 57.7, 63.0, 71.4, 80.2, 88.8])
ROUTINE = np.array([35.0, 38.9, 45.8, 47.0, 58.1, 60.9, 71.2, 75.3, 90.0, 93.7])


def line(x, y, ratio=1.0, fit=deming_line):
    return fit(x, y, variance_ratio=ratio, confidence=0.95)


def leave_one_out(x, y, ratio, fit):
    """Textbook jackknife: the covariance of lines without one lot each."""
    lines = [line(np.delete(x, i), np.delete(y, i), ratio, fit) for i in range(x.size)]
    each = np.array([(one.slope, one.intercept) for one in lines])
    off = each - each.mean(axis=0)
    return off.T @ off * (x.size - 1) / x.size


def test_a_reference_without_error_gives_the_regression_of_y_on_x():
    found = line(REFERENCE, ROUTINE, 1e12)

    expected = stats.linregress(REFERENCE, ROUTINE)
    assert found.slope == pytest.approx(expected.slope, rel=1e-9)
    assert found.intercept == pytest.approx(expected.intercept, rel=1e-7)


def test_a_routine_method_without_error_gives_the_other_regression_turned_round():
    found = line(REFERENCE, ROUTINE, 1e-12)

    assert found.slope == pytest.approx(1.0 / stats.linregress(ROUTINE, REFERENCE).slope, rel=1e-9)


def test_with_equal_errors_the_line_is_the_first_principal_axis():
    _, axes = np.linalg.eigh(np.cov(REFERENCE, ROUTINE))

    found = line(REFERENCE, ROUTINE)

    assert found.slope == pytest.approx(axes[1, 1] / axes[0, 1])
    assert found.intercept == pytest.approx(ROUTINE.mean() - found.slope * REFERENCE.mean())


@pytest.mark.parametrize("ratio", [0.2, 1.0, 5.0])
def test_no_line_nearby_has_a_smaller_sum_of_squared_errors(ratio):
    def squares(slope, intercept):
        return np.sum((ROUTINE - intercept - slope * REFERENCE) ** 2) / (ratio + slope**2)

    found = line(REFERENCE, ROUTINE, ratio)

    least = squares(found.slope, found.intercept)
    for turn, lift in [(1e-3, 0.0), (-1e-3, 0.0), (0.0, 1e-2), (0.0, -1e-2)]:
        assert squares(found.slope + turn, found.intercept + lift) > least


POINTS = st.lists(
    st.tuples(st.integers(100, 900), st.integers(100, 900)), min_size=5, max_size=20, unique=True
)


@pytest.mark.reaches(0.9)
@given(POINTS, st.sampled_from([0.25, 1.0, 3.0]))
def test_exchanging_the_methods_turns_the_line_round(points, ratio):
    x, y = np.array(points, dtype=np.float64).T
    if not counts(abs(np.cov(x, y)[0, 1]) > 10.0):
        return

    there, back = line(x, y, ratio), line(y, x, 1.0 / ratio)

    assert back.slope == pytest.approx(1.0 / there.slope, rel=1e-6)
    assert back.intercept == pytest.approx(-there.intercept / there.slope, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("fit", [deming_line, weighted_deming_line])
def test_another_unit_changes_the_unit_of_the_line_and_nothing_else(fit):
    grams, milligrams = (
        line(REFERENCE, ROUTINE, 2.0, fit),
        line(1000 * REFERENCE, 1000 * ROUTINE, 2.0, fit),
    )

    assert milligrams.slope == pytest.approx(grams.slope)
    assert milligrams.intercept == pytest.approx(1000 * grams.intercept)
    assert milligrams.slope_error == pytest.approx(grams.slope_error)


@pytest.mark.parametrize("fit", [deming_line, weighted_deming_line])
@pytest.mark.parametrize("ratio", [0.5, 1.0, 4.0])
def test_standard_errors_are_those_of_leaving_out_each_lot_in_turn(fit, ratio):
    found = line(REFERENCE, ROUTINE, ratio, fit)

    slow = leave_one_out(REFERENCE, ROUTINE, ratio, fit)
    assert found.slope_error == pytest.approx(math.sqrt(slow[0, 0]), rel=1e-6)
    assert found.intercept_error == pytest.approx(math.sqrt(slow[1, 1]), rel=1e-6)
    assert found.covariance == pytest.approx(slow[0, 1], rel=1e-6)
    width = stats.t.ppf(0.975, REFERENCE.size - 2)
    assert found.slope_interval.high == pytest.approx(found.slope + width * found.slope_error)
    assert found.intercept_interval.low == pytest.approx(
        found.intercept - width * found.intercept_error
    )


def test_lots_left_out_in_blocks_are_those_left_out_at_once(monkeypatch):
    at_once = line(REFERENCE, ROUTINE, 1.0, weighted_deming_line)
    monkeypatch.setattr("spc.compare.between_methods.deming.AT_A_TIME", 30)

    in_blocks = line(REFERENCE, ROUTINE, 1.0, weighted_deming_line)

    assert in_blocks.slope_error == pytest.approx(at_once.slope_error, rel=1e-9)


def test_lots_on_a_line_give_that_line_weighted_or_not():
    for fit in (deming_line, weighted_deming_line):
        found = line(REFERENCE, 3.0 + 1.1 * REFERENCE, 1.0, fit)

        assert (found.slope, found.intercept) == pytest.approx((1.1, 3.0))
        assert found.slope_error == pytest.approx(0.0, abs=1e-9)


def test_the_weighted_line_solves_its_own_weighted_sums():
    """At the end the weights are those of the line, and the line is that of the weights."""
    found = line(REFERENCE, ROUTINE, 2.0, weighted_deming_line)

    at = np.array([[found.slope]]), np.array([[found.intercept]])
    weight = levels(REFERENCE, ROUTINE, *at, 2.0)[0] ** -2
    moments = np.cov(REFERENCE, ROUTINE, aweights=weight, ddof=0)
    gap = moments[1, 1] - 2.0 * moments[0, 0]
    root = math.sqrt(gap**2 + 8.0 * moments[0, 1] ** 2)
    assert found.slope == pytest.approx((gap + root) / (2.0 * moments[0, 1]), rel=1e-9)


def test_weighting_tells_the_slope_better_where_errors_are_shares_of_the_level():
    generator = np.random.default_rng(4)
    plain, weighted = [], []
    for _ in range(60):
        true = np.exp(generator.uniform(np.log(1_000), np.log(100_000), 30))
        x, y = (level * np.exp(generator.normal(0.0, 0.06, 30)) for level in (true, 1.1 * true))
        plain.append(line(x, y).slope)
        weighted.append(line(x, y, fit=weighted_deming_line).slope)

    assert np.std(weighted) < 0.7 * np.std(plain)
    assert np.mean(weighted) == pytest.approx(1.1, abs=0.01)


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("kind", "relative"), [("deming", False), ("weighted-deming", True)], ids=["unit", "share"]
)
def test_intervals_hold_the_truth_about_as_often_as_they_say(kind, relative):
    generator = np.random.default_rng(18)
    held = np.zeros(2)
    trials, lots, truth = 300, 25, (1.15, 4.0)
    for _ in range(trials):
        true = generator.uniform(20.0, 120.0, lots)
        routine = truth[1] + truth[0] * true
        error = generator.standard_normal((2, lots)) * (0.04 if relative else 3.0)
        x = true * (1.0 + error[0]) if relative else true + error[0]
        y = routine * (1.0 + error[1]) if relative else routine + error[1]
        found = methods(x, y, kind=kind).line
        held += [
            found.slope_interval.low <= truth[0] <= found.slope_interval.high,
            found.intercept_interval.low <= truth[1] <= found.intercept_interval.high,
        ]

    # Three standard errors of the simulation about 95 %.
    assert held / trials == pytest.approx([0.95, 0.95], abs=0.038)


def test_the_ratio_of_errors_follows_from_repeatability_and_readings():
    assert error_ratio(0.03, 0.06) == pytest.approx(4.0)
    assert error_ratio(0.03, 0.06, routine_readings=4) == pytest.approx(1.0)
    assert error_ratio(0.03, 0.06, reference_readings=2) == pytest.approx(8.0)


@pytest.mark.parametrize("spreads", [(0.0, 0.1), (0.1, 0.0), (math.nan, 0.1), (0.1, math.inf)])
def test_a_method_without_error_has_no_ratio_of_errors(spreads):
    with pytest.raises(InvalidInput, match="have no ratio"):
        error_ratio(*spreads)


def test_a_mean_of_no_reading_has_no_error():
    with pytest.raises(InvalidInput, match="mean of no reading"):
        error_ratio(0.1, 0.1, routine_readings=0)


@pytest.mark.parametrize("fit", [deming_line, weighted_deming_line])
def test_methods_that_have_nothing_to_do_with_each_other_have_no_line(fit):
    x, y = np.array([1.0, 1.0, 3.0, 3.0]), np.array([1.0, 3.0, 1.0, 3.0])

    with pytest.raises(InvalidInput, match="neither rises nor falls"):
        line(x, y, 1.0, fit)


def test_a_weighted_line_that_does_not_settle_is_refused(monkeypatch):
    monkeypatch.setattr("spc.compare.between_methods.deming.MOST_STEPS", 1)

    with pytest.raises(InvalidInput, match="do not settle in 1 steps"):
        line(REFERENCE, ROUTINE, 1.0, weighted_deming_line)
