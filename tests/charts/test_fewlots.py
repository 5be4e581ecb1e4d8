import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, optimize, special, stats

from spc import charts
from spc.charts.fewlots import tolerance_width
from spc.errors import InvalidInput, NoSpread, TooFewLots

HEAT = [41_000.0, 38_500.0, 44_200.0, 40_100.0, 39_800.0, 47_300.0]
heats = st.lists(st.integers(10_000, 90_000), min_size=3, max_size=12, unique=True)


def student_quantile(tail, freedom):
    """Upper quantile of Student's t from its density alone."""
    log_scale = math.lgamma((freedom + 1) / 2) - math.lgamma(freedom / 2)
    scale = math.exp(log_scale) / math.sqrt(freedom * math.pi)

    def missing(angle):
        # t = sqrt(freedom) tan(angle) turns the density into a power of a cosine.
        area = integrate.quad(
            lambda a: math.cos(a) ** (freedom - 1), 0.0, angle, epsabs=1e-14, epsrel=1e-13
        )
        return 0.5 - scale * math.sqrt(freedom) * area[0] - tail

    angle = optimize.brentq(missing, 0.0, math.pi / 2, xtol=1e-15, rtol=1e-14)
    return math.sqrt(freedom) * math.tan(angle)


@pytest.mark.parametrize(("x", "risk"), [(HEAT, 0.0027), (HEAT[:3], 0.05), ([1.0, 2.0], 0.1)])
def test_prediction_limits_follow_an_independent_quantile(x, risk):
    limits = charts.prediction(x, risk=risk)

    n = len(x)
    mean = math.fsum(x) / n
    s = math.sqrt(math.fsum((v - mean) ** 2 for v in x) / (n - 1))
    reach = student_quantile(risk / 2.0, n - 1) * s * math.sqrt(1.0 + 1.0 / n)
    assert limits.upper == pytest.approx(mean + reach, rel=1e-9)
    assert limits.lower == pytest.approx(mean - reach, rel=1e-9)
    assert limits.size == n


def test_prediction_limits_keep_their_risk_on_average():
    """Within four standard errors over 200 000 baselines of five lots and the lot after each."""
    lots = np.random.default_rng(4).standard_normal((200_000, 6))
    limits = charts.prediction(lots[0, :5], risk=0.05)
    center = lots[:, :5].mean(axis=1)
    sigma = lots[:, :5].std(axis=1, ddof=1) * math.sqrt(1.2)

    outside = np.mean(np.abs(lots[:, 5] - center) > limits.width * sigma)

    assert outside == pytest.approx(0.05, abs=4.0 * math.sqrt(0.05 * 0.95 / 200_000))


def slow_width(n, outside, unlucky):
    """The factor by adaptive quadrature and nested root finding."""

    def half_width(off):
        return optimize.brentq(
            lambda r: special.ndtr(off - r) + special.ndtr(-off - r) - outside,
            0.0,
            off + 12.0,
            xtol=1e-13,
        )

    def kept(k):
        return integrate.quad(
            lambda z: (
                2.0
                * math.exp(-z * z / 2.0)
                / math.sqrt(2.0 * math.pi)
                * stats.chi2.sf((n - 1) * (half_width(z / math.sqrt(n)) / k) ** 2, n - 1)
            ),
            0.0,
            8.5,
            epsabs=1e-13,
            epsrel=1e-12,
            limit=200,
        )[0]

    return optimize.brentq(lambda k: kept(k) - 1.0 + unlucky, 1.0, 400.0, xtol=1e-11, rtol=1e-12)


@pytest.mark.parametrize(
    ("n", "outside", "unlucky"), [(2, 0.0027, 0.1), (6, 0.0027, 0.1), (30, 0.01, 0.05)]
)
def test_guaranteed_width_agrees_with_nested_root_finding(n, outside, unlucky):
    width = tolerance_width(n, outside=outside, unlucky=unlucky)

    assert width == pytest.approx(slow_width(n, outside, unlucky), rel=1e-9)


def test_guaranteed_limits_stand_on_mean_and_standard_deviation():
    limits = charts.guaranteed(HEAT)

    mean, s = np.mean(HEAT), np.std(HEAT, ddof=1)
    width = tolerance_width(6, outside=0.0027, unlucky=0.1)
    assert limits.upper == pytest.approx(mean + width * s, rel=1e-12)
    assert limits.lower == pytest.approx(mean - width * s, rel=1e-12)
    assert (limits.size, limits.width) == (6, width)


@pytest.mark.parametrize(("n", "excess"), [(5, 0.0), (12, 0.2)])
def test_the_guarantee_fails_for_the_stated_share_of_baselines(n, excess):
    """Within four standard errors over 200 000 baselines."""
    lots = np.random.default_rng(n).standard_normal((200_000, n))
    width = charts.guaranteed(lots[0], excess=excess).width
    mean, s = lots.mean(axis=1), lots.std(axis=1, ddof=1)

    false_alarms = special.ndtr(mean - width * s) + special.ndtr(-mean - width * s)

    broken = np.mean(false_alarms > 0.0027 * (1.0 + excess))
    assert broken == pytest.approx(0.1, abs=4.0 * math.sqrt(0.1 * 0.9 / 200_000))


def test_more_lots_and_more_tolerance_narrow_the_guarantee():
    few, more, lenient = (
        charts.guaranteed(np.arange(n), excess=excess).width
        for n, excess in ((6, 0.0), (30, 0.0), (6, 0.5))
    )

    assert few > more > 3.0
    assert few > lenient


def slow_scores(x):
    scores = []
    for at, value in enumerate(x):
        before = [v for v in x[:at] if not math.isnan(v)]
        if len(before) < 2 or math.isnan(value):
            scores.append(math.nan)
            continue
        r = len(before) + 1
        mean = math.fsum(before) / (r - 1)
        s = math.sqrt(math.fsum((v - mean) ** 2 for v in before) / (r - 2))
        t = math.sqrt((r - 1) / r) * (value - mean) / s
        scores.append(float(stats.norm.isf(stats.t.sf(abs(t), r - 2))) * math.copysign(1.0, t))
    return scores


@given(heats, st.integers(0, 12))
def test_self_starting_scores_agree_with_starting_over_at_every_lot(x, gap):
    lots = [*map(float, x)]
    lots.insert(gap, math.nan)

    assert charts.self_starting(lots) == pytest.approx(
        slow_scores(lots), rel=1e-9, abs=1e-9, nan_ok=True
    )


@given(heats)
def test_scores_do_not_depend_on_the_unit(x):
    plain = charts.self_starting(x)

    assert charts.self_starting(0.25 * np.array(x) - 7.0) == pytest.approx(plain, nan_ok=True)


def test_scores_serve_the_run_rules_from_the_third_lot_on():
    scores = charts.self_starting([*HEAT, 90_000.0])

    assert np.isnan(scores[:2]).all()
    assert charts.run_rules(scores, rules=("beyond limits",))[-1].all()


def test_lots_have_no_score_while_all_before_them_are_equal():
    scores = charts.self_starting([0.3, 0.1 + 0.2, 0.3, 0.4, 0.35])

    assert np.isnan(scores).tolist() == [True, True, True, True, False]


def test_a_constant_series_has_no_scores():
    assert np.isnan(charts.self_starting([5.0] * 6)).all()


@pytest.mark.parametrize("x", [[], [1.0], [1.0, 2.0], [math.nan, 1.0, math.nan]])
def test_too_few_lots_have_no_scores_and_are_no_error(x):
    scores = charts.self_starting(x)

    assert scores.size == len(x)
    assert np.isnan(scores).all()


def test_a_lot_beyond_all_measure_keeps_a_finite_score():
    steady = np.random.default_rng(8).standard_normal(400)

    score = charts.self_starting([*steady, 1e30])[-1]

    assert 38.0 < score < 38.6


def test_a_score_cannot_be_made_from_an_infinity():
    with pytest.raises(InvalidInput, match="at position 1"):
        charts.self_starting([1.0, math.inf, 3.0])


def test_scores_of_a_table_are_refused():
    with pytest.raises(InvalidInput, match="2 dimensions"):
        charts.self_starting([[1.0, 2.0]])


@pytest.mark.parametrize("chart", [charts.prediction, charts.guaranteed])
class TestRefusals:
    @pytest.mark.parametrize("x", [[], [5.0]])
    def test_fewer_than_two_lots(self, chart, x):
        with pytest.raises(TooFewLots) as refusal:
            chart(x)
        assert (refusal.value.needed, refusal.value.given) == (2, len(x))

    @pytest.mark.parametrize("x", [[12.5, 12.5, 12.5], [0.3, 0.1 + 0.2, 0.3]])
    def test_lots_that_are_all_alike(self, chart, x):
        with pytest.raises(NoSpread):
            chart(x)

    @pytest.mark.parametrize("gap", [math.nan, math.inf])
    def test_a_gap_is_named_by_its_position(self, chart, gap):
        with pytest.raises(InvalidInput, match="at position 2"):
            chart([1.0, 2.0, gap, 4.0])

    def test_a_table_instead_of_a_list_of_lots(self, chart):
        with pytest.raises(InvalidInput, match="2 dimensions"):
            chart([[1.0, 2.0]])

    @pytest.mark.parametrize("risk", [0.0, 1.0, -0.1, math.nan])
    def test_a_risk_that_is_none(self, chart, risk):
        with pytest.raises(InvalidInput, match="risk"):
            chart(HEAT, risk=risk)


@pytest.mark.parametrize(
    "setting",
    [
        {"unlucky": 0.0},
        {"unlucky": 1.0},
        {"excess": -0.1},
        {"excess": math.inf},
        {"excess": math.nan},
        {"risk": 0.3, "excess": 1.0},
    ],
)
def test_a_promise_that_cannot_be_kept_is_refused(setting):
    with pytest.raises(InvalidInput, match="guaranteed"):
        charts.guaranteed(HEAT, **setting)
