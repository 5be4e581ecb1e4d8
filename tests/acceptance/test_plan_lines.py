"""Lines that a plan decides: the share of samples outside the limits, or their number."""

import math
from dataclasses import replace

import pytest

from spc.acceptance import Line, Method, VariablesPlan, verdict
from spc.acceptance.evidence.samples import sample_means
from spc.acceptance.plan_lines import judge_planned
from spc.digits import THIN
from spc.errors import InvalidInput
from tests.acceptance.conftest import specification

INF = math.inf
COUNT = Line(
    characteristic="heat",
    unit="SHU",
    scale="log",
    requirement="count",
    lower=38_000.0,
    plan_n=5,
    plan_c=1,
)
SHARE = replace(COUNT, requirement="proportion", scale="linear", plan_c=None, plan_k=1.5)
# Worked example of the project's notes: mean 42 520, s 2 104.04, quality index 2.148.
FIVE = [41_200.0, 43_900.0, 39_800.0, 45_100.0, 42_600.0]
PLATE = Method(
    method="plate count",
    standing="routine",
    screening=True,
    relative=True,
    standard_uncertainty=0.01,
    repeatability=0.0,
)


@pytest.fixture
def judged(readings):
    def judge(line, *values, results=None, **other):
        first_issue = specification(line)
        return verdict(results or [readings(*values, **other)], first_issue)

    return judge


def plain(text):
    return text.replace(THIN, " ")


class TestCount:
    def test_as_many_outside_as_the_plan_allows_conform(self, judged):
        lot = judged(COUNT, 37_000.0, 44_000.0, 46_000.0, 41_000.0, 49_000.0)

        (line,) = lot.lines
        assert line.outcome == "conforming"
        assert line.mean is None
        assert all(math.isnan(one) for one in line.probability)
        assert plain(line.reason) == (
            "heat by liquid chromatography conforms: 1 of 5 samples outside at least 38 000 SHU;"
            " the plan allows 1 of 5."
        )
        assert lot.sentence == "Accept: its one line conforms."

    def test_one_more_does_not(self, judged):
        lot = judged(COUNT, 37_000.0, 36_000.0, *[45_000.0] * 3)

        assert lot.recommendation == "reject"
        assert "2 of 5 samples outside" in lot.sentence

    def test_too_few_samples_are_told_how_many_are_missing(self, judged):
        (line,) = judged(COUNT, 45_000.0, 45_000.0).lines

        assert (line.outcome, line.remedy) == (
            "undecided",
            "3 more samples would complete the plan.",
        )

    def test_one_missing_sample_is_one_sample(self, judged):
        assert judged(COUNT, *[45_000.0] * 4).lines[0].remedy.startswith("1 more sample would")

    def test_no_further_sample_saves_a_lot_that_has_failed_already(self, judged):
        assert judged(COUNT, 37_000.0, 36_000.0).lines[0].outcome == "not conforming"

    def test_more_samples_than_the_plan_asks_for_all_count(self, judged):
        (line,) = judged(COUNT, *[45_000.0] * 5, 37_000.0, 36_000.0).lines

        assert line.outcome == "not conforming"
        assert "the plan allows 1 of 5, and all 7 count" in line.reason

    def test_open_samples_count_where_they_surely_lie(self, judged):
        inside = judged(COUNT, low=[40_000.0] * 5, high=[INF] * 5)
        outside = judged(COUNT, low=[0.0] * 5, high=[500.0] * 5)

        assert inside.lines[0].outcome == "conforming"
        assert outside.lines[0].outcome == "not conforming"

    def test_open_samples_that_may_fail_need_a_number(self, judged):
        (line,) = judged(COUNT, low=[30_000.0] * 2 + [45_000.0] * 3, high=[INF] * 5).lines

        assert line.outcome == "undecided"
        assert "0 of 5 samples outside at least 38" in line.reason
        assert "and 2 not known" in line.reason
        assert "diluted into the calibrated range" in line.remedy

    def test_one_that_may_fail_is_allowed_by_a_plan_that_allows_one(self, judged):
        lot = judged(COUNT, low=[30_000.0] + [45_000.0] * 4, high=[INF] * 5)

        assert lot.lines[0].outcome == "conforming"


class TestShare:
    def test_the_worked_example_conforms_by_its_quality_index(self, judged):
        (line,) = judged(SHARE, *FIVE).lines

        assert line.outcome == "conforming"
        assert "from 5 samples (quality index 2.15); the plan with k = 1.5 allows" in line.reason
        assert "estimated share outside at least 38 000 SHU" in plain(line.reason)

    @pytest.mark.parametrize(("k", "outcome"), [(2.14, "conforming"), (2.16, "not conforming")])
    def test_the_acceptance_constant_decides(self, judged, k, outcome):
        assert judged(replace(SHARE, plan_k=k), *FIVE).lines[0].outcome == outcome

    def test_it_is_the_decision_of_the_variables_plan(self, judged):
        line = replace(SHARE, upper=45_000.0, scale="log")

        found = judged(line, *FIVE).lines[0].outcome

        logs = [math.log(one) for one in FIVE]
        limits = {"lower": math.log(38_000.0), "upper": math.log(45_000.0)}
        assert not VariablesPlan(n=5, k=1.5).judge(logs, **limits).accepted
        assert found == "not conforming"

    def test_too_few_samples_are_told_how_many_are_missing(self, judged):
        (line,) = judged(SHARE, 20_000.0, 21_000.0, 22_000.0).lines

        assert line.outcome == "undecided"
        assert "3 samples measured; the plan asks for 5 samples and k = 1.5" in line.reason
        assert line.remedy == "2 more samples would complete the plan."

    def test_more_samples_all_count(self, judged):
        (line,) = judged(SHARE, *FIVE, 44_000.0).lines

        assert "from 6 samples" in line.reason
        assert line.reason.endswith(", and all 6 count.")

    def test_a_sample_without_a_number_is_measured_again(self, judged):
        (line,) = judged(SHARE, low=FIVE, high=[*FIVE[:4], INF]).lines

        assert line.outcome == "undecided"
        assert "1 of 5 samples without a number" in line.reason
        assert "Measure again the samples" in line.remedy

    @pytest.mark.parametrize(
        ("value", "outcome"), [(40_000.0, "undecided"), (30_000.0, "not conforming")]
    )
    def test_equal_samples_show_no_share(self, judged, value, outcome):
        (line,) = judged(SHARE, *[value] * 5).lines

        assert line.outcome == outcome
        assert "all 5 samples are equal" in line.reason
        assert bool(line.remedy) is (outcome == "undecided")


def test_the_method_with_most_samples_decides_a_plan(judged, readings):
    bags = readings(*FIVE, method=PLATE)

    (line,) = judged(SHARE, results=[readings(20_000.0), bags]).lines

    assert line.outcome == "conforming"
    assert "by plate count" in line.reason


def test_a_screening_method_decides_no_guarded_plan(judged):
    line = replace(SHARE, reference_method_only=True)

    assert judged(line, *FIVE, method=PLATE).lines[0].outcome == "no result"


def test_a_plan_on_dry_basis_names_it_and_needs_moisture(judged, readings):
    line = replace(SHARE, basis="dry")
    water = readings(10.0, characteristic="moisture", unit="g/100 g", basis="", method=PLATE)

    without, with_water = (
        judged(line, results=results).lines[0]
        for results in ([readings(*FIVE)], [readings(*FIVE), water])
    )

    assert without.outcome == "no result"
    assert with_water.reason.startswith("heat dry by liquid chromatography conforms")


@pytest.mark.parametrize(
    "line",
    [
        replace(COUNT, plan_n=None),
        replace(COUNT, plan_c=None),
        replace(SHARE, plan_k=None),
        replace(COUNT, lower=None),
    ],
)
def test_a_plan_that_is_not_complete_is_refused(readings, line):
    samples = sample_means(readings(*FIVE), scale=line.scale)

    with pytest.raises(InvalidInput, match="Give plan"):
        judge_planned(line, samples)
