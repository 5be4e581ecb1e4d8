import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spc import charts
from spc.errors import InvalidInput

ALL = tuple(charts.RULES)
TIE = 1e-9
NAN = math.nan


def _one_way(steps):
    return all(s > TIE for s in steps) or all(s < -TIE for s in steps)


def _by_turns(steps):
    return all(min(a, b) < -TIE and max(a, b) > TIE for a, b in itertools.pairwise(steps))


def _same_side(lots):
    return all(v > TIE for v in lots) or all(v < -TIE for v in lots)


def _several_out(lots, need, line):
    high = [v > line + TIE for v in lots]
    low = [v < -line - TIE for v in lots]
    return (sum(high) >= need and high[-1]) or (sum(low) >= need and low[-1])


# Each rule read literally, from the lots it looks back over.
LITERAL = {
    "beyond limits": lambda lots: abs(lots[-1]) > 3 + TIE,
    "two of three far out": lambda lots: _several_out(lots, 2, 2),
    "four of five out": lambda lots: _several_out(lots, 4, 1),
    "eight on one side": _same_side,
    "nine on one side": _same_side,
    "six rising or falling": lambda lots: _one_way(np.diff(lots)),
    "fourteen alternating": lambda lots: _by_turns(list(np.diff(lots))),
    "fifteen hugging the centre": lambda lots: all(abs(v) < 1 - TIE for v in lots),
    "eight avoiding the centre": lambda lots: (
        all(abs(v) > 1 + TIE for v in lots) and not _same_side(lots)
    ),
}
MAY_BE_SHORT = ("two of three far out", "four of five out")


def literally(stream, name):
    span = charts.RULES[name].span
    found = []
    for last in range(len(stream)):
        lots = stream[max(0, last + 1 - span) : last + 1]
        complete = len(lots) == span or name in MAY_BE_SHORT
        found.append(complete and not any(map(math.isnan, lots)) and bool(LITERAL[name](lots)))
    return found


GRID = [-3.5, -3.0, -2.5, -2.0, -1.5, -1.0, -0.5, 0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5]
NEAR_TIES = [
    5e-10,
    -5e-10,
    1 + 5e-10,
    1 - 5e-10,
    1 + 2e-9,
    2 + 5e-10,
    2 - 2e-9,
    2 + 2e-9,
    -1 - 2e-9,
]


@st.composite
def streams(draw):
    """Streams out of a few values each, so that long runs are common."""
    several = []
    for _ in range(draw(st.integers(1, 4))):
        few = draw(st.lists(st.sampled_from(GRID + NEAR_TIES), min_size=1, max_size=4))
        with_gaps = st.sampled_from(few * 4 + draw(st.sampled_from([[], [NAN]])))
        several.append(draw(st.lists(with_gaps, min_size=1, max_size=22)))
    return several


@st.composite
def trends(draw):
    """Streams that rise, fall or alternate, with a step out of place now and then."""
    steps = draw(
        st.sampled_from([[0.2], [-0.2], [0.2, -0.3], [0.7, -0.6]]).flatmap(
            lambda pattern: st.integers(1, 20).map(lambda n: (pattern * n)[:n])
        )
    )
    steps[draw(st.integers(0, len(steps) - 1))] = draw(st.sampled_from([0.2, -0.2, 0.0, NAN]))
    stream = list(np.cumsum(np.where(np.isnan(steps), 0.0, steps)))
    stream = [NAN if math.isnan(s) else v for s, v in zip(steps, stream, strict=True)]
    return [stream, stream[::-1]]


@settings(max_examples=250, deadline=None)
@given(st.one_of(streams(), trends()))
def test_one_pass_over_all_streams_says_what_each_rule_says_literally(several):
    starts = np.cumsum([0] + [len(stream) for stream in several[:-1]])

    signals = charts.run_rules(np.concatenate(several), rules=ALL, starts=starts)

    for column, name in enumerate(ALL):
        expected = [found for stream in several for found in literally(stream, name)]
        assert signals[:, column].tolist() == expected, name


PATTERNS = {
    "beyond limits": [3.1],
    "two of three far out": [2.1, 0.0, 2.1],
    "four of five out": [1.1, 1.2, -0.3, 1.1, 1.2],
    "eight on one side": [0.1, 0.2] * 4,
    "nine on one side": [0.3, 0.2, 0.1] * 3,
    "six rising or falling": [-0.5, -0.2, -0.1, 0.2, 0.4, 0.6],
    "fourteen alternating": [0.5, -0.5] * 7,
    "fifteen hugging the centre": [0.5, -0.5, 0.0] * 5,
    "eight avoiding the centre": [1.5, -1.5] * 4,
}


def signals_of(z, name, **options):
    return charts.run_rules(z, rules=(name,), **options)[:, 0].tolist()


@pytest.mark.parametrize(("name", "pattern"), PATTERNS.items())
class TestEveryRule:
    def test_signals_at_the_last_lot_of_its_pattern_and_not_before(self, name, pattern):
        assert len(pattern) == charts.RULES[name].span
        assert signals_of(pattern, name) == [False] * (len(pattern) - 1) + [True]

    def test_holds_on_the_other_side_too(self, name, pattern):
        assert signals_of([-v for v in pattern], name)[-1]

    def test_does_not_join_two_streams(self, name, pattern):
        if len(pattern) > 1:
            cut = len(pattern) - 1
            assert not any(signals_of(pattern, name, starts=[0, cut]))

    def test_is_silenced_by_a_gap_within_its_look_back(self, name, pattern):
        for gap in range(len(pattern)):
            broken = [*pattern[:gap], NAN, *pattern[gap + 1 :]]
            assert not any(signals_of(broken, name))

    def test_is_not_disturbed_by_a_gap_before_its_look_back(self, name, pattern):
        assert signals_of([NAN, *pattern], name)[-1]


@pytest.mark.parametrize("name", ALL)
def test_every_rule_is_told_in_one_sentence_with_its_source(name):
    rule = charts.RULES[name]

    assert rule.name == name
    assert rule.sentence.count(".") == 1
    assert rule.source.startswith(("Western Electric", "Nelson"))


def test_a_lot_back_inside_does_not_repeat_the_signal_of_the_two_before_it():
    assert signals_of([2.5, 2.5, 0.0], "two of three far out") == [False, True, False]


def test_one_lot_far_out_on_each_side_is_not_two_on_one_side():
    assert not any(signals_of([2.5, -2.5, 0.0], "two of three far out"))


@pytest.mark.parametrize(
    ("line", "name"), [(3, "beyond limits"), (2, "two of three far out"), (1, "four of five out")]
)
def test_a_lot_on_the_line_is_not_beyond_it(line, name):
    assert not any(signals_of([line, line, line, line, line + 9e-10], name))
    assert any(signals_of([line + 2e-9] * 5, name))


def test_a_lot_on_the_centre_line_ends_a_run_on_either_side():
    assert not any(signals_of([0.5] * 7 + [0.0] + [0.5] * 7, "eight on one side"))


def test_eight_lots_out_on_one_side_only_do_not_avoid_the_centre():
    assert not any(signals_of([1.5] * 8, "eight avoiding the centre"))


def test_wider_limits_are_passed_later():
    assert signals_of([3.2, 3.6], "beyond limits", width=3.5) == [False, True]


def test_a_thousand_streams_are_judged_as_one_by_one():
    z = np.random.default_rng(3).normal(0.3, 1.2, size=20_000)
    starts = np.append(0, np.sort(np.random.default_rng(4).choice(20_000, 1000, False)) + 1)
    starts = np.unique(starts[starts < z.size])

    together = charts.run_rules(z, rules=ALL, starts=starts)

    alone = [charts.run_rules(part, rules=ALL) for part in np.split(z, starts[1:])]
    assert np.array_equal(together, np.concatenate(alone))
    assert together.any(axis=0).sum() >= 7


def test_the_columns_follow_the_rules_asked_for():
    signals = charts.run_rules([0.0, 3.5], rules=("nine on one side", "beyond limits"))

    assert signals.tolist() == [[False, False], [False, True]]


def test_no_lots_and_no_rules_are_no_signals():
    assert charts.run_rules([]).shape == (0, len(charts.DEFAULT_RULES))
    assert charts.run_rules([], starts=[]).shape == (0, len(charts.DEFAULT_RULES))
    assert charts.run_rules([0.0, 1.0], rules=()).shape == (2, 0)


def test_the_default_rules_are_known_rules():
    assert set(charts.DEFAULT_RULES) < set(charts.RULES)


def test_the_input_is_left_as_it_was():
    z = np.array([3.5, NAN, -3.5])
    charts.run_rules(z, rules=ALL)
    assert z.tolist()[::2] == [3.5, -3.5]


@pytest.mark.parametrize(
    "starts", [[1], [], [0, 0], [0, 2, 1], [0, 3], [-1, 0], [0.0, 1.0], [[0, 1]], [0, -1]]
)
def test_starts_that_do_not_cut_the_lots_into_streams_are_refused(starts):
    with pytest.raises(InvalidInput, match="starts"):
        charts.run_rules([0.1, 0.2, 0.3], starts=starts)


def test_an_infinite_score_is_named_by_its_position():
    with pytest.raises(InvalidInput, match="position 1"):
        charts.run_rules([0.0, math.inf])


def test_a_table_of_scores_is_refused():
    with pytest.raises(InvalidInput, match="2 dimensions"):
        charts.run_rules([[0.0]])


@pytest.mark.parametrize("width", [0.0, -3.0, NAN])
def test_limits_without_width_are_refused(width):
    with pytest.raises(InvalidInput, match="width"):
        charts.run_rules([0.0], width=width)


def test_a_misspelt_rule_is_met_with_the_nearest_names():
    with pytest.raises(InvalidInput, match="nine on one side"):
        charts.run_rules([0.0], rules=("nine on a side",))


def test_a_name_like_no_rule_is_met_with_all_of_them():
    with pytest.raises(InvalidInput, match=r"beyond limits.*eight avoiding"):
        charts.run_rules([0.0], rules=("xyz",))
