import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spc import charts
from spc.errors import InvalidInput, NoSpread, NotPositive, TooFewLots
from spc.sweep import Reason, sweep

NAN = math.nan
ALL = tuple(charts.RULES)


def swept(value, *, starts=(0,), log=None, censored=None, baseline=None, **options):
    return sweep(
        value,
        starts=starts,
        scale_log=np.zeros(len(starts), bool) if log is None else log,
        censored=np.zeros(len(value), int) if censored is None else censored,
        baseline=np.ones(len(value), bool) if baseline is None else baseline,
        **options,
    )


def one_stream(value, log, censored, baseline, width):
    """The same by the single-stream functions, one point after the other."""
    worked = charts.on_log_scale(value) if log else value
    usable = (censored == 0) & ~np.isnan(value)
    try:
        limits = charts.individuals(worked[usable & baseline], width=width)
    except (TooFewLots, NoSpread):
        return None, np.full(value.size, NAN), np.zeros((value.size, len(ALL)), bool)
    z = limits.scores(worked)
    for i, side in enumerate(censored):
        stands = side == 0 or (side == 1 and z[i] > width) or (side == -1 and z[i] < -width)
        z[i] = z[i] if stands else NAN
    return limits, z, charts.run_rules(z, rules=ALL, width=width)


@st.composite
def stores(draw):
    streams = draw(st.integers(1, 5))
    sizes = [draw(st.integers(1, 25)) for _ in range(streams)]
    generator = np.random.default_rng(draw(st.integers(0, 10_000)))
    level = np.repeat(generator.uniform(5, 50, streams), sizes)
    value = np.round(
        level * generator.lognormal(0, draw(st.sampled_from([0, 0.1, 0.8])), len(level)), 1
    )
    value[generator.random(value.size) < 0.1] = NAN
    censored = generator.choice([0, 0, 0, 0, 0, 0, 1, -1, 2], value.size)
    baseline = generator.random(value.size) < draw(st.sampled_from([0.2, 0.7, 1.0]))
    starts = np.cumsum([0, *sizes[:-1]])
    return np.maximum(value, 0.1), starts, generator.random(streams) < 0.5, censored, baseline


@settings(max_examples=150, deadline=None)
@given(stores(), st.sampled_from([3.0, 2.0, 3.5]))
def test_one_pass_gives_each_stream_what_it_gets_alone(store, width):
    value, starts, log, censored, baseline = store

    result = swept(
        value, starts=starts, log=log, censored=censored, baseline=baseline, rules=ALL, width=width
    )

    cut = [np.split(column, starts[1:]) for column in (value, censored, baseline)]
    z, signals = np.split(result.z, starts[1:]), np.split(result.signals, starts[1:])
    for i, (values, sides, base) in enumerate(zip(*cut, strict=True)):
        limits, expected_z, expected_signals = one_stream(values, log[i], sides, base, width)
        assert z[i] == pytest.approx(expected_z, nan_ok=True)
        assert np.array_equal(signals[i], expected_signals)
        if limits is None:
            assert result.reason[i] != Reason.HAS_LIMITS
            assert np.isnan([result.center[i], result.sigma[i], result.upper[i]]).all()
        else:
            unit = np.exp if log[i] else float
            assert result.reason[i] == Reason.HAS_LIMITS
            assert result.size[i] == limits.size
            assert result.center[i] == pytest.approx(limits.center)
            assert result.sigma[i] == pytest.approx(limits.sigma)
            assert result.lower[i] == pytest.approx(unit(limits.lower))
            assert result.upper[i] == pytest.approx(unit(limits.upper))


STEADY = [10.0, 11.0, 10.0, 11.0, 10.0]


def test_limits_rest_on_the_baseline_and_judge_the_lots_after_it():
    result = swept([*STEADY, 20.0], baseline=[True] * 5 + [False], rules=("beyond limits",))

    assert result.center.tolist() == pytest.approx([10.4])
    assert result.size.tolist() == [5]
    assert result.signals[:, 0].tolist() == [False] * 5 + [True]
    assert result.rules == ("beyond limits",)


@pytest.mark.parametrize(
    ("bound", "side", "signals"),
    [(20.0, 1, True), (11.0, 1, False), (20.0, -1, False), (1.0, -1, True), (20.0, 2, False)],
    ids=["above, far up", "above, within", "below, far up", "below, far down", "both"],
)
def test_a_bound_signals_only_when_the_truth_must_lie_further_out(bound, side, signals):
    result = swept([*STEADY, bound], censored=[0] * 5 + [side], rules=("beyond limits",))

    assert result.signals[-1, 0] == signals
    assert np.isfinite(result.z[-1]) == signals
    assert not result.usable[-1]


def test_a_bound_never_moves_the_limits():
    with_bound = swept([*STEADY, 500.0], censored=[0] * 5 + [1])

    assert with_bound.upper == pytest.approx(swept(STEADY).upper)


def test_on_the_log_scale_limits_are_shown_in_the_unit():
    heat = np.array([30_000.0, 42_000.0, 35_000.0, 51_000.0])

    result = swept(heat, log=[True])

    limits = charts.individuals(np.log(heat))
    assert result.upper == pytest.approx([math.exp(limits.upper)])
    assert result.lower[0] > 0.0
    assert result.center == pytest.approx([limits.center])


def test_a_stream_without_limits_says_why_and_never_signals():
    value = [5.0, *[7.0] * 10, *STEADY, NAN, NAN]

    result = swept(value, starts=[0, 1, 11, 16], rules=ALL)

    assert result.reason.tolist() == [1, 2, 0, 1]
    assert result.size.tolist() == [1, 10, 5, 0]
    assert not result.signals[:11].any()
    assert np.isnan(result.lower[[0, 1, 3]]).all()


def test_an_empty_store_has_no_streams():
    result = swept([], starts=[])

    assert result.center.size == result.z.size == 0
    assert result.signals.shape == (0, len(charts.DEFAULT_RULES))


def test_the_columns_given_are_left_as_they_were():
    value = np.array([*STEADY, 20.0])
    swept(value, censored=[0] * 5 + [-1])
    assert value.tolist() == [*STEADY, 20.0]


def test_a_value_without_logarithm_is_named_by_its_place_in_the_column():
    with pytest.raises(NotPositive) as refusal:
        swept([0.0, 1.0, 2.0, -1.0], starts=[0, 2], log=[False, True])
    assert refusal.value.position == 3


@pytest.mark.parametrize(
    "wrong",
    [
        {"starts": [1]},
        {"log": [False, True]},
        {"censored": [0]},
        {"baseline": [True]},
        {"width": 0.0},
        {"rules": ("beyond",)},
    ],
)
def test_columns_and_choices_that_do_not_fit_are_refused(wrong):
    with pytest.raises(InvalidInput):
        swept(STEADY, **wrong)


def test_a_table_or_an_infinite_value_is_refused():
    with pytest.raises(InvalidInput, match="shape"):
        swept([[1.0, 2.0]], censored=[0], baseline=[True])
    with pytest.raises(InvalidInput, match="position 1 is infinite"):
        swept([1.0, math.inf])
