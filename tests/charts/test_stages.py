from typing import Any, cast

import numpy as np
import pytest

from spc import charts
from spc.charts.stages import KINDS, Stage, staged
from spc.errors import InvalidInput, NotPositive

GENERATOR = np.random.default_rng(20261124)
VALUES = np.exp(GENERATOR.normal(10.6, 0.12, 30))
EXACT = np.zeros(30, dtype=np.int8)


def rests_on(*lots, size=30):
    chosen = np.zeros(size, dtype=bool)
    chosen[list(lots)] = True
    return chosen


def test_one_stage_is_the_ordinary_chart():
    stage = Stage(first=0, baseline=rests_on(*range(20)))

    judged = staged(VALUES, EXACT, [stage], scale="log")

    limits = charts.individuals(np.log(VALUES[:20]))
    z = limits.scores(np.log(VALUES))
    assert judged.z == pytest.approx(z, rel=1e-12)
    assert judged.upper == pytest.approx(np.full(30, np.exp(limits.upper)), rel=1e-12)
    shown = [tuple(charts.RULES).index(rule) for rule in charts.DEFAULT_RULES]
    assert (judged.signals[:, shown] == charts.run_rules(z)).all()


def test_each_lot_keeps_the_limits_of_its_stage():
    first = Stage(first=0, baseline=rests_on(*range(10)))
    second = Stage(first=15, baseline=rests_on(*range(15)))

    judged = staged(VALUES, EXACT, [first, second], scale="linear")

    assert judged.size.tolist() == [10] * 15 + [15] * 15
    assert judged.center[14] == pytest.approx(VALUES[:10].mean())
    assert judged.center[15] == pytest.approx(VALUES[:15].mean())


def test_a_pattern_runs_on_into_the_next_stage_unless_it_restarts():
    """Nine lots on one side, five before the border and four after it."""
    values = np.concatenate([np.tile([99.0, 101.0], 10), np.full(9, 100.5)])
    base = rests_on(*range(20), size=29)
    column = tuple(charts.RULES).index("nine on one side")

    on, anew = (
        staged(
            values,
            np.zeros(29, dtype=np.int8),
            [
                Stage(first=0, baseline=base),
                Stage(first=25, baseline=base, restarts=restarts),
            ],
            scale="linear",
        ).signals[:, column]
        for restarts in (False, True)
    )

    assert on[28]
    assert not anew.any()


def test_a_stage_signals_by_its_own_rules_only():
    values = np.append(VALUES, VALUES.mean() * 3)
    exact = np.zeros(31, dtype=np.int8)
    base = rests_on(*range(20), size=31)

    judged = staged(
        values,
        exact,
        [Stage(first=0, baseline=base, rules=("nine on one side",))],
        scale="log",
    )

    assert not judged.signals[30].any()


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_limits_puts_the_limit_at_three(kind):
    stage = Stage(first=0, baseline=rests_on(*range(8)), kind=kind)

    judged = staged(VALUES, EXACT, [stage], scale="linear")

    outside = (judged.upper < VALUES) | (judged.lower > VALUES)
    assert ((np.abs(judged.z) > 3.0) == outside).all()


def test_few_lots_give_wider_limits_by_prediction():
    narrow, wide = (
        staged(
            VALUES, EXACT, [Stage(first=0, baseline=rests_on(*range(6)), kind=kind)], scale="log"
        )
        for kind in ("standard deviation", "prediction")
    )

    assert wide.upper[0] > narrow.upper[0]


def test_censored_lots_of_a_baseline_count_as_bounds():
    side = EXACT.copy()
    side[[2, 5, 9]] = 1

    judged = staged(VALUES, side, [Stage(first=0, baseline=rests_on(*range(20)))], scale="log")

    by_bounds = charts.censored_baseline(VALUES[:20], side[:20], scale="log").limits()
    assert judged.center[0] == pytest.approx(by_bounds.center, rel=1e-12)
    assert judged.size[0] == 20
    assert np.isnan(judged.z[[2, 5, 9]]).all()


def test_a_bound_beyond_the_limit_is_judged_and_one_inside_is_not():
    values = np.append(VALUES, [VALUES.mean() * 3, VALUES.mean() * 3, VALUES.mean() / 3])
    side = np.append(EXACT, [1, -1, -1])
    base = rests_on(*range(20), size=33)

    judged = staged(values, side, [Stage(first=0, baseline=base)], scale="log")

    assert judged.z[30] > 3.0
    assert np.isnan(judged.z[31])
    assert judged.z[32] < -3.0


@pytest.mark.parametrize("baseline", [rests_on(3), rests_on()], ids=["one lot", "none"])
def test_a_stage_with_too_few_lots_has_no_limits_and_no_signals(baseline):
    judged = staged(VALUES, EXACT, [Stage(first=0, baseline=baseline)], scale="log")

    assert np.isnan(judged.upper).all()
    assert not judged.signals.any()
    assert judged.size[0] == baseline.sum()


def test_equal_lots_have_no_limits():
    judged = staged(
        np.full(30, 5.0), EXACT, [Stage(first=0, baseline=rests_on(*range(9)))], scale="linear"
    )

    assert np.isnan(judged.sigma).all()


@pytest.mark.parametrize(
    ("stages", "what"),
    [
        ([], "do not cover 30 lots"),
        ([Stage(first=1, baseline=rests_on(1, 2))], "do not cover"),
        ([Stage(first=0, baseline=rests_on(1, 2))] * 2, "do not cover"),
        (
            [Stage(first=0, baseline=rests_on(1, 2)), Stage(first=30, baseline=rests_on(1, 2))],
            "do not cover",
        ),
        ([Stage(first=0, baseline=rests_on(1, 2), kind=cast("Any", "by eye"))], "by eye"),
    ],
)
def test_stages_that_make_no_sense_are_refused(stages, what):
    with pytest.raises(InvalidInput, match=what):
        staged(VALUES, EXACT, stages, scale="log")


def test_a_value_without_a_logarithm_is_refused():
    with pytest.raises(NotPositive):
        staged(
            [1.0, 0.0, 2.0], np.zeros(3), [Stage(first=0, baseline=np.ones(3, bool))], scale="log"
        )
