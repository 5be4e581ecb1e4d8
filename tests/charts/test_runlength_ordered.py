"""Run lengths with rules that compare lots with each other, recomputed without any integral."""

import math

import numpy as np
import pytest

from spc import charts
from spc.charts.rules import runlength_ordered as ordered
from spc.errors import InvalidInput

RISING, ALTERNATING = "six rising or falling", "fourteen alternating"


def by_ranks(rules, *, lots=420):
    """The run length of rules that compare lots only, by the rank of the newest lot.

    Every order of n lots is as likely, so the newest stands on each place among them alike: the
    chance of no signal yet is followed rank by rank, and its tail, by then geometric, is summed.
    """
    counts = {(0, 0, 0): np.ones(1)}
    silent = [1.0, 1.0]
    for size in range(2, lots + 1):
        after: dict[tuple[int, int, int], np.ndarray] = {}
        for (way, run, turns), chance in counts.items():
            total = np.concatenate(([0.0], np.cumsum(chance)))
            for new, reached in ((1, total), (-1, total[-1] - total)):
                state = (
                    new,
                    run + 1 if new == way else 1,
                    1 if new == way else turns + 1,
                )
                if (RISING in rules and state[1] == 5) or (ALTERNATING in rules and state[2] == 13):
                    continue
                kept = (new, state[1] * (RISING in rules), state[2] * (ALTERNATING in rules))
                after[kept] = after.get(kept, 0.0) + reached / size
        counts = after
        silent.append(sum(float(chance.sum()) for chance in counts.values()))
    ratio = silent[-1] / silent[-2]
    return math.fsum(silent) + silent[-1] * ratio / (1.0 - ratio)


@pytest.mark.parametrize("rules", [(RISING,), (ALTERNATING,), (RISING, ALTERNATING)])
@pytest.mark.parametrize("shift", [0.0, 1.3])
def test_rules_of_order_alone_ask_for_ranks_only(rules, shift):
    assert charts.run_length_ordered(rules, shift) == pytest.approx(by_ranks(rules), rel=1e-9)


@pytest.mark.parametrize("shift", [0.0, 0.8])
@pytest.mark.parametrize("rules", [("beyond limits", RISING), ("nine on one side", ALTERNATING)])
def test_with_zones_it_is_what_simulated_streams_show(rules, shift):
    tried = charts.run_length_simulated(
        rules, shift, generator=np.random.default_rng(7), streams=3000, longest=4000
    )

    exact = charts.run_length_ordered(rules, shift)

    assert tried.mean == pytest.approx(exact, abs=4.0 * tried.standard_error)


def test_more_nodes_change_nothing(monkeypatch):
    ten = charts.run_length_ordered(charts.DEFAULT_RULES, 0.4)
    monkeypatch.setattr(ordered, "NODES", 14)

    assert charts.run_length_ordered(charts.DEFAULT_RULES, 0.4) == pytest.approx(ten, rel=1e-11)


def test_without_a_rule_of_order_it_is_the_chain():
    rules = ("beyond limits", "four of five out")

    assert charts.run_length_ordered(rules, 0.3) == charts.run_length(rules, 0.3)


def test_up_and_down_are_alike():
    up, down = (charts.run_length_ordered(charts.DEFAULT_RULES, s) for s in (0.6, -0.6))

    assert up == pytest.approx(down, rel=1e-10)


def test_more_states_than_can_be_solved_are_refused(monkeypatch):
    monkeypatch.setattr(ordered, "MOST_STATES", 20)
    ordered._chain.cache_clear()
    ordered.solvable.cache_clear()

    with pytest.raises(InvalidInput, match=r"more than 20 states.*run_length_simulated"):
        charts.run_length_ordered((RISING, ALTERNATING))

    ordered._chain.cache_clear()
    ordered.solvable.cache_clear()


@pytest.mark.parametrize(
    ("options", "fault"),
    [
        ({"width": 0.0}, "width"),
        ({"range_width": math.inf}, "range width"),
        ({"shift": math.nan}, "shift"),
        ({"range_width": 0.1}, "too narrow"),
        ({"width": 8.0, "range_width": 20.0}, "no run length"),
    ],
)
def test_limits_of_lots_and_ranges_that_make_no_chart_are_refused(options, fault):
    settings = {"width": 3.0, "range_width": 3.686} | options

    with pytest.raises(InvalidInput, match=rf"^run_length_individuals: .*{fault}"):
        charts.run_length_individuals(**settings)
