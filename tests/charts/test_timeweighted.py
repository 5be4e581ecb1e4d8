import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from spc import charts
from spc.errors import InvalidInput

NAN = math.nan

# Montgomery, D. C., Introduction to Statistical Quality Control, example of a CUSUM with target
# 10 and sigma 1, moved to 11 after twenty lots (recalled, not re-read); sums and weighted means
# computed apart.
SHIFTED = [
    *(9.45, 7.99, 9.29, 11.66, 12.16, 10.18, 8.04, 11.46, 9.20, 10.34),
    *(9.03, 11.47, 10.51, 9.40, 10.08, 9.37, 10.62, 10.31, 8.52, 10.84),
    *(10.90, 9.33, 12.29, 11.50, 10.60, 11.08, 10.38, 11.62, 11.31, 10.52),
]
HIGH = [
    *(0.00, 0.00, 0.00, 1.16, 2.82, 2.50, 0.04, 1.00, 0.00, 0.00),
    *(0.00, 0.97, 0.98, 0.00, 0.00, 0.00, 0.12, 0.00, 0.00, 0.34),
    *(0.74, 0.00, 1.79, 2.79, 2.89, 3.47, 3.35, 4.47, 5.28, 5.30),
]

LOTS = arrays.arrays(
    np.float64,
    st.integers(0, 40),
    elements=st.one_of(st.floats(-4.0, 4.0).map(lambda v: round(v, 3)), st.just(NAN)),
)


def ewma(x, **options):
    return charts.ewma(x, **({"target": 0.0, "sigma": 1.0} | options))


def cusum(x, **options):
    return charts.cusum(x, **({"target": 0.0, "sigma": 1.0} | options))


def weighted_literally(x, *, weight, width):
    """Each mean as a sum over all lots so far, each variance as a sum of squared weights."""
    for lot in range(len(x)):
        so_far = [v for v in x[: lot + 1] if not math.isnan(v)]
        shares = [weight * (1.0 - weight) ** age for age in reversed(range(len(so_far)))]
        mean = math.fsum(share * v for share, v in zip(shares, so_far, strict=True))
        yield mean, width * math.sqrt(math.fsum(share * share for share in shares))


class TestEwma:
    @given(LOTS, st.sampled_from([0.05, 0.2, 0.9, 1.0]))
    def test_each_mean_is_the_weighted_sum_of_all_lots_so_far(self, x, weight):
        chart = ewma(x, weight=weight, width=2.5)

        literal = list(weighted_literally(x, weight=weight, width=2.5))
        assert chart.values == pytest.approx([mean for mean, _ in literal], rel=1e-9, abs=1e-12)
        assert chart.upper == pytest.approx([half for _, half in literal], rel=1e-9)
        assert chart.lower == pytest.approx([-half for _, half in literal], rel=1e-9)

    @given(LOTS, st.booleans(), st.floats(-50.0, 50.0), st.sampled_from([0.25, 8.0]))
    def test_unit_and_zero_point_do_not_matter(self, x, steady, target, sigma):
        plain = ewma(x, steady=steady, width=1.0)

        moved = ewma(target + sigma * x, target=target, sigma=sigma, steady=steady, width=1.0)

        assert (moved.values - target) / sigma == pytest.approx(plain.values, abs=1e-9)
        assert (moved.upper - target) / sigma == pytest.approx(plain.upper, abs=1e-9)
        clear = np.abs(np.abs(plain.values) - plain.upper) > 1e-6
        assert (moved.signals == plain.signals)[clear].all()

    def test_a_gap_leaves_mean_and_limits_and_does_not_signal(self):
        chart = ewma([NAN, 5.0, NAN, NAN, 0.0], width=1.0)

        assert chart.values.tolist() == pytest.approx([0.0, 1.0, 1.0, 1.0, 0.8])
        assert chart.upper[0] == chart.lower[0] == 0.0
        assert chart.upper[1] == chart.upper[3] < chart.upper[4]
        assert chart.signals.tolist() == [False, True, False, False, True]

    def test_steady_limits_are_where_widening_ones_end(self):
        steady, widening = ewma([0.0] * 200, steady=True), ewma([0.0] * 200)

        assert np.unique(steady.upper).size == 1
        assert np.all(np.diff(widening.upper[:40]) > 0.0)
        assert widening.upper[-1] == pytest.approx(steady.upper[-1], rel=1e-12)

    def test_a_mean_on_the_limit_is_not_beyond_it(self):
        on, beyond = (
            ewma([v], weight=1.0, width=3.0).signals[0] for v in (3.0 + 9e-10, 3.0 + 2e-9)
        )

        assert not on
        assert beyond

    def test_the_shift_of_the_textbook_is_found_at_lot_29(self):
        chart = charts.ewma(SHIFTED, target=10.0, sigma=1.0, weight=0.1, width=2.7)

        assert np.flatnonzero(chart.signals).tolist() == [28, 29]
        assert chart.values[[0, 27, 28]] == pytest.approx([9.945, 10.57314, 10.64682], abs=5e-6)
        assert chart.upper[[0, 9, 28]] == pytest.approx([10.27, 10.58055, 10.61873], abs=5e-6)

    def test_a_constant_stream_on_target_never_signals(self):
        assert not charts.ewma([7.0] * 50, target=7.0, sigma=0.1).signals.any()

    def test_no_lots_and_one_lot(self):
        assert ewma([]).values.shape == ewma([]).signals.shape == (0,)
        assert ewma([1.0]).values.tolist() == pytest.approx([0.2])

    def test_streams_run_as_long_as_the_integral_equation_says(self):
        streams, lots = 1500, 400
        x = np.random.default_rng(90).normal(0.75, 1.0, size=(streams, lots))

        first = np.array([ewma(row, weight=0.25, width=2.998).signals.argmax() for row in x]) + 1

        exact = charts.run_length_ewma(weight=0.25, width=2.998, shift=0.75, steady=False)
        assert first.mean() == pytest.approx(exact, abs=3.0 * first.std() / math.sqrt(streams))


class TestCusum:
    @given(LOTS, st.sampled_from([0.0, 0.5]), st.sampled_from([0.0, 1.0]))
    def test_each_sum_is_what_the_last_lots_exceed_the_slack_by(self, x, reference, head_start):
        """Literally: the largest sum of the last lots, or of all of them on top of the start."""
        chart = cusum(x, reference=reference, decision=2.0, head_start=head_start)

        for sign, sums in ((1.0, chart.high), (-1.0, chart.low)):
            for lot, found in enumerate(sums):
                excess = [sign * v - reference for v in x[: lot + 1] if not math.isnan(v)]
                tails = [math.fsum(excess[begin:]) for begin in range(len(excess) + 1)]
                tails[0] += head_start
                assert found == pytest.approx(max(0.0, *tails), abs=1e-9)

    @given(LOTS, st.floats(-50.0, 50.0), st.sampled_from([0.25, 8.0]))
    def test_unit_and_zero_point_do_not_matter(self, x, target, sigma):
        plain, moved = cusum(x), cusum(target + sigma * x, target=target, sigma=sigma)

        assert moved.high == pytest.approx(plain.high, abs=1e-9)
        assert moved.low == pytest.approx(plain.low, abs=1e-9)

    @given(LOTS)
    def test_the_other_way_up_the_two_sums_change_places(self, x):
        up, down = cusum(x, decision=1.0), cusum(-x, decision=1.0)

        assert up.high.tolist() == down.low.tolist()
        assert up.high_start.tolist() == down.low_start.tolist()
        assert up.signals.tolist() == down.signals.tolist()

    @given(LOTS)
    def test_a_start_is_told_where_its_sum_signals_and_follows_a_lot_at_zero(self, x):
        chart = cusum(x, reference=0.0, decision=0.5)

        assert (chart.signals == ((chart.high_start >= 0) | (chart.low_start >= 0))).all()
        for total, start in ((chart.high, chart.high_start), (chart.low, chart.low_start)):
            for lot in np.flatnonzero(start >= 0):
                first = start[lot]
                assert total[lot] > 0.5
                assert first == 0 or total[first - 1] == 0.0
                assert (total[first : lot + 1] > 0.0).all()

    @given(LOTS)
    def test_the_first_signal_finds_the_other_sum_at_zero(self, x):
        """The fact that makes run lengths of two sides exact; with the highest head start."""
        chart = cusum(x, reference=0.25, decision=1.0, head_start=0.75)

        for lot in np.flatnonzero(chart.signals)[:1]:
            assert min(chart.high[lot], chart.low[lot]) == 0.0

    def test_the_shift_of_the_textbook_is_placed_at_lot_23(self):
        """The upper sum passes five at lot 29, after seven lots above zero."""
        chart = charts.cusum(SHIFTED, target=10.0, sigma=1.0)

        assert chart.high == pytest.approx(HIGH, abs=0.005 + 1e-9)
        assert np.flatnonzero(chart.signals).tolist() == [28, 29]
        assert chart.high_start.tolist() == [-1] * 28 + [22, 22]
        assert chart.low_start.tolist() == [-1] * 30

    def test_a_gap_leaves_both_sums_and_does_not_signal(self):
        chart = cusum([NAN, 4.0, 4.0, NAN, 4.0], head_start=1.0)

        assert chart.high.tolist() == pytest.approx([1.0, 4.5, 8.0, 8.0, 11.5])
        assert chart.signals.tolist() == [False, False, True, False, True]
        assert chart.high_start.tolist() == [-1, -1, 0, -1, 0]

    def test_a_head_start_that_never_falls_to_zero_dates_the_shift_to_the_first_lot(self):
        chart = cusum([1.5, 1.5, 1.5, 1.5], head_start=2.5)

        assert chart.high_start.tolist() == [-1, -1, 0, 0]

    def test_a_shift_down_after_one_up_is_dated_by_its_own_sum(self):
        chart = cusum([3.0, 3.0, 3.0, -1.0, -3.0, -3.0, -3.0])

        assert chart.high_start.tolist() == [-1, -1, 0, 0, -1, -1, -1]
        assert chart.low_start.tolist() == [-1, -1, -1, -1, -1, 3, 3]

    def test_after_a_signal_that_nobody_cleared_both_sums_may_signal(self):
        chart = cusum([20.0, -7.0])

        assert (chart.high_start[1], chart.low_start[1]) == (0, 1)

    def test_a_sum_on_the_height_is_not_beyond_it(self):
        assert not cusum([5.5 + 9e-10]).signals[0]
        assert cusum([5.5 + 2e-9]).signals[0]

    def test_a_constant_stream_on_target_never_signals(self):
        chart = charts.cusum([7.0] * 50, target=7.0, sigma=0.1)

        assert not chart.signals.any()
        assert not chart.high.any()

    def test_no_lots_and_one_lot(self):
        assert cusum([]).high_start.shape == cusum([]).signals.shape == (0,)
        assert cusum([1.5]).high.tolist() == [1.0]

    def test_streams_run_as_long_as_the_integral_equation_says(self):
        streams, lots = 1500, 300
        x = np.random.default_rng(54).normal(0.75, 1.0, size=(streams, lots))

        first = np.array([cusum(row, head_start=2.5).signals.argmax() for row in x]) + 1

        exact = charts.run_length_cusum(reference=0.5, decision=5.0, shift=0.75, head_start=2.5)
        assert first.mean() == pytest.approx(exact, abs=3.0 * first.std() / math.sqrt(streams))


@pytest.mark.parametrize("chart", [charts.ewma, charts.cusum])
@pytest.mark.parametrize(
    ("x", "options", "fault"),
    [
        ([0.0, math.inf], {}, "position 1"),
        ([[0.0]], {}, "2 dimensions"),
        ([0.0], {"target": NAN}, "target"),
        ([0.0], {"sigma": 0.0}, "sigma"),
        ([0.0], {"sigma": math.inf}, "sigma"),
    ],
)
def test_lots_that_cannot_be_charted_are_refused(chart, x, options, fault):
    with pytest.raises(InvalidInput, match=rf"^{chart.__name__}: .*{fault}"):
        chart(x, **({"target": 0.0, "sigma": 1.0} | options))


@pytest.mark.parametrize(
    ("chart", "options", "fault"),
    [
        (ewma, {"weight": 0.0}, "weight"),
        (ewma, {"weight": 1.5}, "weight"),
        (ewma, {"width": 0.0}, "width"),
        (cusum, {"reference": -0.1}, "reference"),
        (cusum, {"reference": math.inf}, "reference"),
        (cusum, {"decision": 0.0}, "decision"),
        (cusum, {"head_start": 5.1}, "head start"),
        (cusum, {"head_start": -0.1}, "head start"),
    ],
)
def test_settings_that_draw_no_chart_are_refused(chart, options, fault):
    with pytest.raises(InvalidInput, match=fault):
        chart([0.0, 1.0], **options)


def test_what_is_passed_in_is_left_as_it_was():
    x = np.array([1.0, NAN, 3.0])

    ewma(x)
    cusum(x)

    assert x.tolist()[::2] == [1.0, 3.0]
