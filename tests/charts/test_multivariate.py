import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, optimize, special

from spc import charts
from spc.errors import InvalidInput, NoSpread, NotPositive, TooFewLots

# Heat, moisture and colour of lots that share a common cause.
GENERATOR = np.random.default_rng(17)
MIXING = np.array([[1.0, 0.0, 0.0], [0.8, 0.5, 0.0], [-0.3, 0.4, 0.6]])
TABLE = GENERATOR.standard_normal((20, 3)) @ MIXING.T * [4000.0, 0.6, 5.0] + [41e3, 9.5, 120.0]
EARLIER = np.arange(20) < 14


def slow_t_squared(x, member):
    """Values, conditional and unconditional terms, from covariance matrices without columns."""
    base = x[member]
    mean, covariance = base.mean(axis=0), np.cov(base.T, ddof=1)

    def distance(off, kept):
        kept = list(kept)
        block = covariance[np.ix_(kept, kept)]
        return float(off[kept] @ np.linalg.solve(block, off[kept])) if kept else 0.0

    everything = range(x.shape[1])
    off = x - mean
    values = [distance(row, everything) for row in off]
    conditional = [
        [distance(row, everything) - distance(row, set(everything) - {j}) for j in everything]
        for row in off
    ]
    alone = [[distance(row, [j]) for j in everything] for row in off]
    return np.array(values), np.array(conditional), np.array(alone)


def beta_quantile(tail, a, b):
    """Upper quantile of the Beta distribution, from its density alone."""
    scale = math.exp(math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b))

    def missing(angle):
        # x = sin(angle)^2 takes the ends' singularities away.
        area = integrate.quad(
            lambda u: 2.0 * math.sin(u) ** (2 * a - 1) * math.cos(u) ** (2 * b - 1),
            angle,
            math.pi / 2,
            epsabs=1e-15,
            epsrel=1e-13,
        )
        return scale * area[0] - tail

    return math.sin(optimize.brentq(missing, 1e-9, math.pi / 2 - 1e-9, xtol=1e-15)) ** 2


def test_values_and_contributions_agree_with_covariances_of_each_subset():
    found = charts.t_squared(TABLE, baseline=EARLIER)

    values, conditional, alone = slow_t_squared(TABLE, EARLIER)
    assert found.values == pytest.approx(values, rel=1e-9)
    assert found.contributions == pytest.approx(conditional, rel=1e-9, abs=1e-12)
    assert found.alone == pytest.approx(alone, rel=1e-9)
    assert (found.size, found.risk) == (14, 0.0027)


def test_a_lot_in_the_baseline_has_another_limit_than_a_new_one():
    found = charts.t_squared(TABLE, baseline=EARLIER, risk=0.01)

    own = 13**2 / 14 * beta_quantile(0.01, 1.5, 5.0)
    # An F(p, n - p) variable is (n - p) / p times the odds of a Beta one.
    chance = beta_quantile(0.01, 1.5, 5.5)
    new = 15 * 13 / 14 * chance / (1.0 - chance)
    assert found.upper[:14] == pytest.approx(own, rel=1e-9)
    assert found.upper[14:] == pytest.approx(new, rel=1e-9)


def test_all_complete_lots_are_the_baseline_unless_said_otherwise():
    everything, marked = (
        charts.t_squared(TABLE),
        charts.t_squared(TABLE, baseline=np.full(20, True)),
    )

    assert everything.values == pytest.approx(marked.values)
    assert everything.size == 20


def test_each_order_of_characteristics_adds_up_to_the_value():
    """The decomposition: one characteristic alone, then each given those before it."""
    found = charts.t_squared(TABLE[:, :2])

    for first, last in itertools.permutations(range(2)):
        total = found.alone[:, first] + found.contributions[:, last]
        assert total == pytest.approx(found.values, rel=1e-9)


@pytest.mark.thorough
def test_both_limits_keep_their_risk():
    """Within four standard errors over 3 000 baselines of eight lots and one new lot each."""
    generator = np.random.default_rng(23)
    risk, signals = 0.05, np.zeros(2)
    marks = np.arange(9) < 8
    for _ in range(3000):
        lots = generator.standard_normal((9, 2))
        found = charts.t_squared(lots, baseline=marks, risk=risk).signals
        signals += [found[:8].mean(), found[8]]

    rates = signals / 3000
    assert rates == pytest.approx(risk, abs=4.0 * math.sqrt(risk * (1 - risk) / 3000))


@given(st.permutations(range(3)), st.floats(0.01, 100.0), st.floats(-50.0, 50.0))
def test_units_and_order_of_characteristics_do_not_matter(order, stretch, shift):
    plain = charts.t_squared(TABLE, baseline=EARLIER)

    other = charts.t_squared(stretch * TABLE[:, order] + shift, baseline=EARLIER)

    assert other.values == pytest.approx(plain.values, rel=1e-6)
    assert other.contributions == pytest.approx(plain.contributions[:, order], rel=1e-5, abs=1e-7)


def test_a_lot_that_breaks_a_correlation_signals_though_each_value_is_usual():
    steady = np.random.default_rng(2).standard_normal(30)
    table = np.column_stack([steady, steady + 0.1 * np.random.default_rng(3).standard_normal(30)])
    lots = np.vstack([table, [1.5, -1.5]])

    found = charts.t_squared(lots, baseline=np.arange(31) < 30)

    assert found.signals[-1]
    assert (found.alone[-1] < 4.0).all()
    assert (found.contributions[-1] > 100.0).all()


def test_a_lot_that_lacks_a_characteristic_has_no_value_and_no_part_in_the_baseline():
    gapped = np.vstack([TABLE, [41e3, np.nan, 120.0]])

    found = charts.t_squared(gapped)

    assert math.isnan(found.values[-1])
    assert not found.signals[-1]
    assert found.size == 20
    assert found.values[:-1] == pytest.approx(charts.t_squared(TABLE).values)


def slow_averages(x, member, weight):
    base = x[member]
    mean, covariance = base.mean(axis=0), np.cov(base.T, ddof=1)
    average, values = np.zeros(x.shape[1]), []
    for row in x:
        average = weight * (row - mean) + (1.0 - weight) * average
        lasting = weight / (2.0 - weight) * covariance
        values.append(float(average @ np.linalg.solve(lasting, average)))
    return np.array(values)


def test_averages_agree_with_one_lot_after_the_other():
    found = charts.mewma(TABLE, baseline=EARLIER, weight=0.2, limit=9.0)

    values = slow_averages(TABLE, EARLIER, 0.2)
    assert found.values == pytest.approx(values, rel=1e-9)
    assert found.signals.tolist() == (values > 9.0).tolist()
    assert (found.size, found.weight, found.upper) == (14, 0.2, 9.0)
    assert found.steady_run == charts.run_length_mewma(9.0, characteristics=3, weight=0.2)


def test_averages_in_sigmas_fade_by_the_weight():
    found = charts.mewma(TABLE, baseline=EARLIER, weight=0.3, limit=9.0)

    scores = (TABLE[:2] - TABLE[:14].mean(axis=0)) / TABLE[:14].std(axis=0, ddof=1)
    assert found.averages[1] == pytest.approx(0.3 * scores[1] + 0.7 * 0.3 * scores[0])


def test_with_all_weight_on_the_newest_lot_the_average_is_t_squared():
    averaged = charts.mewma(TABLE, weight=1.0)

    assert averaged.values == pytest.approx(charts.t_squared(TABLE).values)
    assert averaged.upper == pytest.approx(special.chdtri(3, 1 / 370.4), rel=1e-9)
    assert charts.run_length_mewma(averaged.upper, characteristics=3, weight=1.0) == pytest.approx(
        370.4, rel=1e-9
    )


def test_an_incomplete_lot_is_passed_over_by_the_average():
    gapped = np.insert(TABLE, 5, [np.nan, 9.0, 120.0], axis=0)

    found = charts.mewma(gapped, limit=9.0)

    assert math.isnan(found.values[5])
    assert np.delete(found.values, 5) == pytest.approx(charts.mewma(TABLE, limit=9.0).values)


def test_the_default_limit_signals_as_seldom_as_three_sigma_limits():
    found = charts.mewma(TABLE)

    assert found.steady_run == pytest.approx(370.4, rel=1e-9)


@pytest.mark.parametrize(
    ("characteristics", "weight", "limit"), [(2, 0.1, 6.0), (5, 0.4, 11.0), (1, 0.05, 4.0)]
)
def test_run_lengths_agree_with_a_chain_of_many_rings(characteristics, weight, limit):
    """Rings of equal width entered at their middle; the error falls with the square of it."""

    def by_rings(number):
        end = math.sqrt(limit * weight / (2.0 - weight)) / weight
        width = end / (number + 0.5)
        middle = np.arange(number + 1) * width
        edges = np.append(0.0, (np.arange(number + 1) + 0.5) * width)
        chance = special.chndtr(
            edges[None, :] ** 2, characteristics, ((1.0 - weight) * middle[:, None]) ** 2
        )
        stay = np.diff(chance, axis=1)
        return np.linalg.solve(np.eye(number + 1) - stay, np.ones(number + 1))[0]

    coarse, fine = by_rings(150), by_rings(300)

    extrapolated = fine + (fine - coarse) / (((300.5) / (150.5)) ** 2 - 1.0)
    assert charts.run_length_mewma(
        limit, characteristics=characteristics, weight=weight
    ) == pytest.approx(extrapolated, rel=2e-4)


def test_simulated_steady_lots_run_as_long_as_stated():
    """Within four standard errors over 10 000 suppliers with three characteristics."""
    generator = np.random.default_rng(31)
    limit = charts.mewma_limit(100.0, characteristics=3, weight=0.1)
    average, lengths, lot = np.zeros((10_000, 3)), [], 0
    while len(average):
        lot += 1
        average = 0.9 * average + 0.1 * generator.standard_normal(average.shape)
        signals = (average**2).sum(axis=1) > limit * 0.1 / 1.9
        lengths += [lot] * int(signals.sum())
        average = average[~signals]

    error = np.std(lengths) / math.sqrt(10_000)
    assert np.mean(lengths) == pytest.approx(100.0, abs=4.0 * float(error))
    assert error < 1.1


@settings(deadline=None, max_examples=12)
@given(st.integers(1, 12), st.floats(0.02, 1.0), st.floats(5.0, 2000.0))
def test_limit_and_run_length_undo_each_other(characteristics, weight, steady_run):
    limit = charts.mewma_limit(steady_run, characteristics=characteristics, weight=weight)

    assert charts.run_length_mewma(
        limit, characteristics=characteristics, weight=weight
    ) == pytest.approx(steady_run, rel=1e-8)


@pytest.mark.parametrize("chart", [charts.t_squared, charts.mewma])
class TestRefusals:
    @pytest.mark.parametrize("x", [np.zeros((0, 2)), [[1.0, 2.0]], np.eye(3)[:, :2]])
    def test_fewer_lots_than_correlations_need(self, chart, x):
        with pytest.raises(TooFewLots) as refusal:
            chart(x)
        assert refusal.value.needed == 4

    @pytest.mark.parametrize("x", [[], [1.0, 2.0, 3.0], np.zeros((3, 0)), np.zeros((2, 2, 2))])
    def test_what_is_no_table(self, chart, x):
        with pytest.raises(InvalidInput, match="row of characteristics"):
            chart(x)

    def test_a_characteristic_that_never_varies_is_named(self, chart):
        with pytest.raises(NoSpread, match="characteristic 1"):
            chart(np.column_stack([TABLE[:, 0], np.full(20, 7.5)]))

    def test_characteristics_that_determine_each_other_are_named(self, chart):
        with pytest.raises(InvalidInput, match="characteristics 0, 1 determine"):
            chart(np.column_stack([TABLE[:, 0], 2.0 * TABLE[:, 0] + 1.0, TABLE[:, 2]]))

    @pytest.mark.parametrize("value", [math.inf, -math.inf])
    def test_an_infinity_is_named_by_lot_and_characteristic(self, chart, value):
        table = TABLE.copy()
        table[4, 2] = value
        with pytest.raises(InvalidInput, match="characteristic 2 of lot 4"):
            chart(table)

    def test_lots_that_all_lack_something(self, chart):
        with pytest.raises(TooFewLots):
            chart(np.full((9, 2), np.nan))

    @pytest.mark.parametrize("baseline", [[True, False], np.ones(20), [[True] * 20]])
    def test_a_baseline_that_does_not_mark_the_lots(self, chart, baseline):
        with pytest.raises(InvalidInput, match="does not mark 20 lots"):
            chart(TABLE, baseline=baseline)

    def test_a_value_without_a_logarithm_is_refused_before_it_is_charted(self, chart):
        with pytest.raises(NotPositive):
            chart(charts.on_log_scale(TABLE - 41e3))


@pytest.mark.parametrize("risk", [0.0, 1.0, math.nan])
def test_a_risk_that_is_none_is_refused(risk):
    with pytest.raises(InvalidInput, match="risk"):
        charts.t_squared(TABLE, risk=risk)


@pytest.mark.parametrize(
    "setting",
    [
        {"weight": 0.0},
        {"weight": 1.5},
        {"weight": math.nan},
        {"limit": 0.0},
        {"limit": math.inf},
        {"steady_run": 1.0},
        {"steady_run": 1e7},
        {"steady_run": math.nan},
    ],
)
def test_a_setting_out_of_range_is_refused(setting):
    with pytest.raises(InvalidInput):
        charts.mewma(TABLE, **setting)


@pytest.mark.parametrize("function", [charts.mewma_limit, charts.run_length_mewma])
def test_an_average_of_nothing_is_refused(function):
    with pytest.raises(InvalidInput, match="0 characteristics"):
        function(9.0, characteristics=0)
