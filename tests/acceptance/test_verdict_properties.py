"""What no choice of limits, rule or kind of line may bring about."""

import math
from dataclasses import replace
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spc.acceptance import History, Line, Within, verdict
from spc.acceptance.evidence.samples import sample_means
from spc.acceptance.specification import Rule
from tests.acceptance.conftest import specification
from tests.reached import counts

HISTORY = {
    ("heat", "liquid chromatography"): History(within=Within(sigma=0.05, degrees=30)),
}
AVERAGE = Line(
    characteristic="heat", unit="SHU", scale="log", lower=30_000.0, upper=60_000.0, basis="as-is"
)
LINES = [
    *(replace(AVERAGE, rule=rule) for rule in get_args(Rule)),
    *(replace(AVERAGE, rule=rule, each_sample=True) for rule in get_args(Rule)),
    replace(AVERAGE, requirement="proportion", plan_n=4, plan_k=1.2),
    replace(AVERAGE, requirement="count", plan_n=4, plan_c=1),
]
# From the strictest on: what one calls conforming, those after it do as well.
BY_STRICTNESS: tuple[Rule, ...] = (
    "guarded acceptance",
    "two risks",
    "simple acceptance",
    "guarded rejection",
)

heats = st.lists(st.integers(15_000, 120_000).map(float), min_size=1, max_size=8)
scales = st.sampled_from(["log", "linear"])


@st.composite
def measured(draw):
    """Both ends of readings, some of them open; each of a sample of its own."""
    low = draw(heats)
    kinds = [draw(st.sampled_from(["number", "number", "number", "<", ">"])) for _ in low]
    return (
        [0.0 if kind == "<" else value for kind, value in zip(kinds, low, strict=True)],
        [float("inf") if kind == ">" else value for kind, value in zip(kinds, low, strict=True)],
    )


@pytest.fixture(scope="module")
def outcome(readings):
    def judge(line, low, high=None):
        first_issue = specification(line)
        lot = verdict([readings(low=low, high=high)], first_issue, history=HISTORY)
        return lot.lines[0].outcome

    return judge


@pytest.mark.reaches(0.3)
@settings(deadline=None, max_examples=200)
@given(st.sampled_from(LINES), scales, measured(), st.floats(0.0, 0.98), st.floats(0.0, 0.98))
def test_a_tighter_limit_never_saves_a_line_of_any_kind_by_any_rule(
    outcome, line, scale, ends, raised, lowered
):
    loose = replace(line, scale=scale)
    tight = replace(loose, lower=30_000.0 + raised * 15_000.0, upper=60_000.0 - lowered * 15_000.0)

    before, after = (outcome(one, *ends) for one in (loose, tight))

    counts(before == "not conforming" or after == "conforming")
    if before == "not conforming":
        assert after == "not conforming"
    if after == "conforming":
        assert before == "conforming"


@pytest.mark.reaches(0.5)
@settings(deadline=None, max_examples=200)
@given(
    measured(),
    scales,
    st.booleans(),
    st.lists(st.integers(0, 3), min_size=2, max_size=2).map(sorted),
    st.sampled_from([(30_000.0, 60_000.0), (None, 60_000.0), (30_000.0, None), (44e3, 45e3)]),
)
def test_a_stricter_rule_never_accepts_what_a_milder_one_rejects(
    outcome, ends, scale, each, places, limits
):
    strict, mild = (BY_STRICTNESS[one] for one in places)
    lower, upper = limits
    line = replace(AVERAGE, scale=scale, each_sample=each, lower=lower, upper=upper)

    by_strict, by_mild = (outcome(replace(line, rule=rule), *ends) for rule in (strict, mild))

    counts(by_mild == "not conforming" or by_strict == "conforming")
    if by_mild == "not conforming":
        assert by_strict != "conforming"
    if by_strict == "conforming":
        assert by_mild == "conforming"


@settings(deadline=None, max_examples=100)
@given(heats, scales, st.sampled_from(get_args(Rule)))
def test_looking_at_each_sample_never_makes_a_verdict_milder(outcome, heat, scale, rule):
    line = replace(AVERAGE, scale=scale, rule=rule)
    severity = ("conforming", "undecided", "not conforming")

    average, each = (outcome(replace(line, each_sample=one), heat) for one in (False, True))

    assert severity.index(each) >= severity.index(average)


@settings(deadline=None, max_examples=100)
@given(st.integers(1, 20), scales)
def test_more_readings_of_a_sample_with_the_same_mean_never_raise_its_uncertainty(
    readings, count, scale
):
    fewer, more = (
        sample_means(readings(*[40_000.0] * n, sample=[0] * n), scale=scale)
        for n in (count, count + 1)
    )

    assert more.low == pytest.approx(fewer.low)
    assert more.uncertainty[0] <= fewer.uncertainty[0]


@pytest.mark.reaches(0.5)
@settings(deadline=None, max_examples=60)
@given(
    # Just inside a limit, where the spread of samples is what leaves it open.
    st.tuples(st.sampled_from([(30_000.0, 1.0), (60_000.0, -1.0)]), st.floats(0.048, 0.072)).map(
        lambda near: near[0][0] * math.exp(near[0][1] * near[1])
    ),
    st.integers(1, 2),
    # The other two rules leave nothing undecided that more samples would settle.
    st.sampled_from(["two risks", "guarded acceptance"]),
)
def test_what_is_said_to_settle_a_line_settles_it_by_its_rule(readings, heat, samples, rule):
    first_issue = specification(replace(AVERAGE, rule=rule))

    def judged(count):
        lot = verdict([readings(*[float(heat)] * count)], first_issue, history=HISTORY)
        return lot.lines[0]

    remedy = judged(samples).remedy
    if counts(remedy.startswith("About")):
        assert judged(samples + int(remedy.split()[1])).outcome != "undecided"
