import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from spc import charts
from spc.charts.rules.rule_states import ORDERED
from spc.charts.rules.runlength import SIGNAL, chain_of
from spc.errors import InvalidInput

HELD = tuple(name for name in charts.RULES if name not in ORDERED)
FOUR = ("beyond limits", "two of three far out", "four of five out", "eight on one side")


def sequences(*, chances, run):
    """Average number of trials until some outcome has come `run` times in a row."""
    return 1.0 / sum(p**run * (1.0 - p) / (1.0 - p**run) for p in chances)


@settings(max_examples=300, deadline=None)
@given(
    st.sets(st.sampled_from(HELD), min_size=1),
    st.sampled_from([3.0, 2.5, 1.5]),
    st.lists(st.sampled_from([-9.0, -2.7, -2.2, -1.2, -0.4, 0.4, 1.2, 2.2, 2.7, 9.0]), max_size=40),
    st.sampled_from([None, (0.4, -0.4), (1.2, -1.2), (2.2, 0.4), (-1.2, -2.2)]),
)
def test_the_chain_ends_where_run_rules_first_signals(names, width, lots, pattern):
    """Patterns of two zones make long runs common."""
    rules = tuple(name for name in charts.RULES if name in names)
    z = np.array(lots if pattern is None else list(itertools.islice(itertools.cycle(pattern), 30)))
    chain = chain_of(rules, width)
    moves = dict(zip(zip(chain.source, chain.zone, strict=True), chain.target, strict=True))

    state, ended = 0, None
    for lot, zone in enumerate(np.searchsorted(chain.edges, z) - 1):
        state = moves[state, zone]
        if state == SIGNAL:
            ended = lot
            break

    signals = np.flatnonzero(charts.run_rules(z, rules=rules, width=width).any(axis=1))
    assert ended == (signals[0] if signals.size else None)


@pytest.mark.parametrize("shift", [0.0, 0.7, 3.0])
@pytest.mark.parametrize("width", [1.0, 3.0, 5.0, 9.0])
def test_limits_alone_run_as_long_as_one_lot_in_so_many_lies_outside(shift, width):
    outside = stats.norm.sf(width - shift) + stats.norm.sf(width + shift)

    length = charts.run_length(("beyond limits",), shift, width=width)

    assert length == pytest.approx(1.0 / outside, rel=1e-12)


@pytest.mark.parametrize("shift", [0.0, 0.5, 1.5, 4.0])
@pytest.mark.parametrize(("name", "run"), [("eight on one side", 8), ("nine on one side", 9)])
def test_runs_on_one_side_take_as_long_as_runs_of_an_uneven_coin(name, run, shift):
    above = float(stats.norm.sf(-shift))

    length = charts.run_length((name,), shift)

    assert length == pytest.approx(sequences(chances=(above, 1.0 - above), run=run), rel=1e-12)


@pytest.mark.parametrize("shift", [0.0, 1.0, 4.0, 8.0])
def test_fifteen_near_the_centre_take_as_long_as_fifteen_successes(shift):
    near = float(stats.norm.cdf(1.0 - shift) - stats.norm.cdf(-1.0 - shift))

    length = charts.run_length(("fifteen hugging the centre",), shift)

    assert length == pytest.approx((1.0 - near**15) / ((1.0 - near) * near**15), rel=1e-10)


@pytest.mark.parametrize("rules", [FOUR, HELD, ("eight avoiding the centre",)])
def test_a_shift_down_is_noticed_as_soon_as_one_up(rules):
    down, up = charts.run_length(rules, -1.3), charts.run_length(rules, 1.3)

    assert down == pytest.approx(up, rel=1e-12)


@settings(max_examples=60, deadline=None)
@given(
    st.sets(st.sampled_from(HELD), min_size=2),
    st.floats(-3.0, 3.0),
    st.randoms(use_true_random=False),
)
def test_no_rule_makes_a_chart_slower(names, shift, random):
    rules = sorted(names)
    random.shuffle(rules)

    assert charts.run_length(rules, shift) <= charts.run_length(rules[1:], shift) * (1.0 + 1e-12)


def test_order_and_repetition_of_the_rules_do_not_matter():
    assert charts.run_length([*FOUR[::-1], *FOUR]) == charts.run_length(FOUR)


def test_a_nine_in_a_row_adds_nothing_to_eight():
    both = ("eight on one side", "nine on one side")

    assert charts.run_length(both, 0.4) == charts.run_length(both[:1], 0.4)


def test_no_rules_never_signal():
    assert charts.run_length(()) == math.inf


def test_a_pattern_that_hardly_can_come_is_never_met():
    assert charts.run_length(("fifteen hugging the centre",), 100.0) == math.inf
    assert charts.run_length(("eight avoiding the centre",), 100.0) == math.inf


def test_a_lot_far_out_is_met_at_once():
    assert charts.run_length(HELD, 60.0) == 1.0


@pytest.mark.parametrize("name", sorted(ORDERED))
def test_rules_that_compare_lots_are_sent_to_the_simulation(name):
    with pytest.raises(InvalidInput, match=rf"{name}.*run_length_ordered"):
        charts.run_length(("beyond limits", name))


def test_an_unknown_rule_is_met_with_the_nearest_names():
    with pytest.raises(InvalidInput, match=r"^run_length: .*nine on one side"):
        charts.run_length(("nine on a side",))


@pytest.mark.parametrize("shift", [math.nan, math.inf, -math.inf])
def test_a_shift_that_is_no_number_is_refused(shift):
    with pytest.raises(InvalidInput, match="shift"):
        charts.run_length(FOUR, shift)


@pytest.mark.parametrize("width", [0.0, -3.0, math.nan, math.inf])
def test_limits_without_width_are_refused(width):
    with pytest.raises(InvalidInput, match="width"):
        charts.run_length(FOUR, width=width)
