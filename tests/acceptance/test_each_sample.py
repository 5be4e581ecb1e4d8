"""Lines that let no average hide a sample."""

import math
from dataclasses import replace

import pytest

from spc.acceptance import Line, verdict
from spc.acceptance.evidence.samples import sample_means
from tests.acceptance.conftest import SENSOR, specification

INF = math.inf
HEAT = Line(
    characteristic="heat",
    unit="SHU",
    scale="log",
    lower=38_000.0,
    upper=55_000.0,
    basis="as-is",
    each_sample=True,
)
GOOD = [45_000.0] * 5


@pytest.fixture
def judged(readings):
    """One line against readings by one method, or against entries given."""

    def judge(*values, line=HEAT, results=None, **other):
        first_issue = specification(line)
        return verdict(results or [readings(*values, **other)], first_issue).lines[0]

    return judge


def test_samples_all_inside_change_nothing(judged):
    found = judged(*GOOD)

    assert found == judged(*GOOD, line=replace(HEAT, each_sample=False)).__class__(
        line=HEAT,
        outcome="conforming",
        probability=found.probability,
        mean=found.mean,
        reason=found.reason,
    )
    assert "sample" not in found.reason


def test_one_sample_a_little_outside_leaves_the_line_undecided(judged):
    """Chromatography: 2.5 % and 2 % are 3.2 %, so 36 900 is 0.9 of them below 38 000."""
    found = judged(*GOOD, 36_900.0)

    assert judged(*GOOD, 36_900.0, line=replace(HEAT, each_sample=False)).outcome == "conforming"
    assert found.outcome == "undecided"
    assert "But 1 of 6 samples lies outside the limits" in found.reason
    assert "no average hide it" in found.reason
    assert found.remedy.startswith("More samples would not undo it")
    assert "second laboratory" in found.remedy


def test_one_outside_beyond_its_own_uncertainty_fails_the_line(judged):
    found = judged(*GOOD, 34_000.0)

    assert found.outcome == "not conforming"
    assert "1 of 6 samples lies outside the limits" in found.reason
    assert "more than its own expanded uncertainty (k = 2)" in found.reason
    assert found.remedy == ""


def test_replicates_make_a_sample_more_certain(judged):
    """35 600 is 6.7 % below in logarithms: 2.05 of 3.2 %, but with nine readings 2.5 of 2.6 %."""
    once = judged(*GOOD, 36_000.0)
    nine = judged(*GOOD, *[36_000.0] * 9, sample=[0, 1, 2, 3, 4, *[5] * 9])

    assert (once.outcome, nine.outcome) == ("undecided", "not conforming")


def test_several_samples_outside_are_counted(judged):
    found = judged(*GOOD, 37_000.0, 56_000.0)

    assert "2 of 7 samples lie outside the limits" in found.reason


def test_a_sample_that_may_lie_outside_keeps_the_lot_from_conforming(judged):
    found = judged(
        low=[*GOOD, 45_000.0], high=[*GOOD, INF], line=replace(HEAT, lower=None, upper=90_000.0)
    )

    assert found.outcome == "undecided"
    assert "1 of 6 samples may lie outside the limits" in found.reason


def test_two_samples_that_may_lie_outside(judged):
    found = judged(
        low=[*GOOD, 45_000.0, 45_000.0],
        high=[*GOOD, INF, INF],
        line=replace(HEAT, lower=None, upper=90_000.0),
    )

    assert "2 of 7 samples may lie outside the limits" in found.reason


def test_an_open_sample_on_its_good_side_is_no_doubt(judged):
    found = judged(low=[*GOOD, 45_000.0], high=[*GOOD, INF], line=replace(HEAT, upper=None))

    assert found.outcome == "conforming"


def test_a_failing_average_stays_failing_and_tells_its_samples(judged):
    found = judged(20_000.0, 21_000.0)

    assert found.outcome == "not conforming"
    assert "2 of 2 samples lie outside" in found.reason
    assert "But" not in found.reason


def test_an_undecided_average_keeps_its_own_remedy(judged):
    found = judged(38_500.0, 37_900.0)

    assert found.outcome == "undecided"
    assert "1 of 2 samples lies outside" in found.reason
    assert "second laboratory" in found.remedy


def test_a_single_sample_is_one_sample(judged):
    assert "1 of 1 sample lies outside" in judged(37_500.0).reason


def test_a_better_method_on_a_composite_hides_no_bag_of_the_other(judged, readings):
    bags = readings(*GOOD, 30_000.0, method=SENSOR)

    found = judged(results=[bags, readings(45_000.0)])

    assert found.mean is not None
    assert found.mean.method.method == "liquid chromatography"
    assert found.outcome == "not conforming"
    assert "1 of 7 samples lies outside" in found.reason


class TestSampleMeans:
    def test_replicates_are_averaged_on_the_scale_of_the_line(self, readings):
        two = readings(40_000.0, 50_000.0, 30_000.0, sample=[1, 1, 2])

        log, linear = (sample_means(two, scale=scale) for scale in ("log", "linear"))

        assert log.low == pytest.approx([math.sqrt(40_000.0 * 50_000.0), 30_000.0])
        assert linear.low == pytest.approx([45_000.0, 30_000.0])
        assert log.replicates.tolist() == [2, 1]
        assert log.uncertainty == pytest.approx(
            [math.hypot(0.025, 0.02 / math.sqrt(2.0)), math.hypot(0.025, 0.02)]
        )
        assert linear.uncertainty == pytest.approx(log.uncertainty * linear.low)

    def test_the_bias_of_the_method_is_taken_out(self, readings):
        method = replace(SENSOR, bias=-0.08)

        found = sample_means(readings(92.0, method=method), scale="log")

        assert found.low == pytest.approx([100.0])

    def test_one_open_replicate_opens_its_sample_only(self, readings):
        some = readings(low=[0.0, 9.0, 5.0], high=[INF, 9.0, 5.0], sample=[1, 1, 2])

        found = sample_means(some, scale="log")

        assert found.low.tolist() == pytest.approx([0.0, 5.0])
        assert found.high.tolist() == [INF, pytest.approx(5.0)]
        assert found.exact.tolist() == [False, True]
        assert found.on_scale == pytest.approx([math.log(5.0)])

    def test_nothing_found_is_a_number_where_no_logarithm_is_needed(self, readings):
        log, linear = (sample_means(readings(0.0), scale=scale) for scale in ("log", "linear"))

        assert (log.exact.tolist(), linear.exact.tolist()) == ([False], [True])
