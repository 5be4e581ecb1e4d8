import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from spc import charts
from spc.charts.suggestions import Suggestions
from spc.errors import InvalidInput, NoSpread, NotPositive, TooFewLots

HEAT = [41e3, 38e3, 44e3, 40e3, 39e3, 47e3, 42e3, 40e3, 43e3, 38e3, 95e3, 41e3]
heats = st.lists(st.integers(10_000, 90_000), min_size=8, max_size=25, unique=True)


def slow_outlying(x, risk):
    """Take the most outlying lot out, again and again; all up to the last refusal count."""
    left = dict(enumerate(x))
    taken, refused = [], 0
    for _ in range(max(1, len(x) // 5)):
        n = len(left)
        mean = math.fsum(left.values()) / n
        s = math.sqrt(math.fsum((v - mean) ** 2 for v in left.values()) / (n - 1))
        worst = max(left, key=lambda lot: abs(left[lot] - mean))
        t = stats.t.ppf(1.0 - risk / (2.0 * n), n - 2)
        taken.append(worst)
        if abs(left.pop(worst) - mean) / s > (n - 1) * t / math.sqrt((n - 2 + t * t) * n):
            refused = len(taken)
    return sorted(taken[:refused])


@settings(deadline=None, max_examples=50)
@given(heats, st.integers(100_000, 200_000))
def test_outlying_lots_are_those_of_taking_out_one_by_one(x, odd):
    found = charts.suggest([*x, odd, odd + 1])

    assert np.flatnonzero(found.outlying).tolist() == slow_outlying([*x, odd, odd + 1], 0.05)


def test_an_outlying_lot_is_flagged_and_left_in():
    x = np.array(HEAT)

    found = charts.suggest(x)

    assert np.flatnonzero(found.outlying).tolist() == [10]
    assert (found.size, found.scale, found.risk) == (12, "linear", 0.05)
    assert x.tolist() == HEAT


def test_lots_alike_but_for_one_leave_nothing_to_search_after_it():
    """With the odd lot out no spread is left to call the next one far."""
    found = charts.suggest([5.0] * 9 + [8.0])

    assert np.flatnonzero(found.outlying).tolist() == [9]


def test_skewed_lots_ask_for_the_log_scale():
    found = charts.suggest(np.exp(np.random.default_rng(1).normal(3.0, 0.8, 40)))

    assert (found.shape.better, found.shape.decided, found.shape.few) == ("log", True, False)
    assert found.shape.linear_p < 0.05 <= found.shape.log_p


def test_symmetric_lots_ask_for_the_linear_scale():
    """The logarithms of values that come near zero have a long tail below."""
    x = np.append(np.random.default_rng(5).normal(10.0, 2.0, 40), 0.01)
    found = charts.suggest(x[x > 0.0])

    assert (found.shape.better, found.shape.decided) in {("linear", True), ("linear", False)}
    assert found.shape.log_p < found.shape.linear_p


def test_lots_of_two_kinds_have_a_shape_that_neither_scale_mends():
    generator = np.random.default_rng(6)
    found = charts.suggest(np.append(generator.normal(40, 1, 20), generator.normal(60, 1, 20)))

    assert max(found.shape.linear_p, found.shape.log_p) < 0.05
    assert not found.shape.decided


def test_a_few_lots_do_not_decide_and_say_so():
    found = charts.suggest([41.0, 38.0, 44.0, 40.0, 39.0, 47.0, 42.0, 43.0])

    assert (found.shape.decided, found.shape.few) == (False, True)


def test_values_without_logarithms_have_a_linear_shape_only():
    shape = charts.suggest([-1.0, 2.0, 0.5, 1.2, 0.1, -0.3, 0.7, 1.9]).shape

    assert math.isnan(shape.log_p)
    assert (shape.better, shape.decided) == ("linear", False)


def test_shape_is_judged_on_both_scales_whichever_is_asked_for():
    linear, log = charts.suggest(HEAT), charts.suggest(HEAT, scale="log")

    assert linear.shape == log.shape
    assert linear.shape.linear_p == pytest.approx(stats.shapiro(HEAT).pvalue)
    assert linear.shape.log_p == pytest.approx(stats.shapiro(np.log(HEAT)).pvalue)


def test_autocorrelation_follows_its_formula():
    x = [3.0, 5.0, 4.0, 7.0, 8.0, 6.0, 9.0, 10.0]

    found = charts.suggest(x).autocorrelation

    mean = sum(x) / 8
    off = [v - mean for v in x]
    r = sum(a * b for a, b in itertools.pairwise(off)) / sum(v * v for v in off)
    half = 1.5 * 1.959963984540054 * math.sqrt((1.0 - r * r) / 8)
    assert found.value == pytest.approx(r, rel=1e-12)
    assert found.lower == pytest.approx(max(-1.0, 1.5 * r + 0.125 - half), rel=1e-9)
    assert found.upper == pytest.approx(min(1.0, 1.5 * r + 0.125 + half), rel=1e-9)


@pytest.mark.thorough
@pytest.mark.parametrize("truth", [0.0, 0.6])
@pytest.mark.parametrize("n", [8, 20])
def test_the_interval_of_the_autocorrelation_holds_the_truth(n, truth):
    """Between 91 and 98 % of 500 streams; 95 % is asked for."""
    generator = np.random.default_rng(n)
    noise = generator.standard_normal((500, n + 40))
    lots = np.zeros((500, n + 40))
    for at in range(1, n + 40):
        lots[:, at] = truth * lots[:, at - 1] + noise[:, at]

    found = [charts.suggest(stream).autocorrelation for stream in lots[:, 40:]]

    held = np.mean([a.lower <= truth <= a.upper for a in found])
    assert 0.91 < held < 0.98


def test_lots_that_follow_each_other_are_noted():
    walk = np.cumsum(np.random.default_rng(3).standard_normal(60))

    assert charts.suggest(walk).autocorrelation.notable


def test_a_change_of_supplier_is_noted_with_its_lot():
    generator = np.random.default_rng(4)
    lots = np.append(generator.normal(40.0, 1.0, 12), generator.normal(44.0, 1.0, 10))

    found = charts.suggest(lots)

    assert found.moved
    assert found.change.start == 12


def test_steady_lots_are_seldom_suspected():
    """At most 5 % asked for each; 400 streams of fifteen lots, four standard errors allowed."""
    generator = np.random.default_rng(9)
    seen = np.zeros(4)
    for _ in range(400):
        found: Suggestions = charts.suggest(generator.normal(50.0, 1.0, 15))
        suspected = (
            bool(found.outlying.any()),
            found.shape.linear_p < 0.05,
            found.autocorrelation.notable,
            found.moved,
        )
        seen += np.array(suspected)

    assert (seen / 400 < 0.05 + 4.0 * math.sqrt(0.05 * 0.95 / 400)).all()


@settings(deadline=None, max_examples=30)
@given(heats, st.floats(0.5, 2.0))
def test_suggestions_do_not_depend_on_the_unit(x, stretch):
    plain, other = charts.suggest(x), charts.suggest(stretch * np.array(x))

    assert other.outlying.tolist() == plain.outlying.tolist()
    assert other.autocorrelation.value == pytest.approx(plain.autocorrelation.value, abs=1e-9)
    assert other.change.start == plain.change.start


class TestRefusals:
    @pytest.mark.parametrize("x", [[], [5.0], [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0]])
    def test_fewer_than_eight_lots(self, x):
        with pytest.raises(TooFewLots) as refusal:
            charts.suggest(x)
        assert (refusal.value.needed, refusal.value.given) == (8, len(x))

    def test_lots_that_are_all_alike(self):
        with pytest.raises(NoSpread):
            charts.suggest([12.5] * 9)

    @pytest.mark.parametrize("gap", [math.nan, math.inf])
    def test_a_gap_is_named_by_its_position(self, gap):
        with pytest.raises(InvalidInput, match="at position 2"):
            charts.suggest([1.0, 2.0, gap, 4.0, 5.0, 6.0, 7.0, 8.0])

    @pytest.mark.parametrize("value", [0.0, -3.0])
    def test_what_has_no_logarithm_on_the_log_scale(self, value):
        with pytest.raises(NotPositive):
            charts.suggest([*HEAT, value], scale="log")

    def test_an_unknown_scale(self):
        with pytest.raises(InvalidInput, match="scale"):
            charts.suggest(HEAT, scale="cubic")  # type: ignore[arg-type]

    @pytest.mark.parametrize("risk", [0.0, 0.5, math.nan])
    def test_a_risk_that_is_none(self, risk):
        with pytest.raises(InvalidInput, match="risk"):
            charts.suggest(HEAT, risk=risk)
