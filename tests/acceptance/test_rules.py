"""Rules of decision on the lot mean: what each says, and how often it is wrong."""

import math
from dataclasses import replace
from typing import get_args

import numpy as np
import pytest
from scipy.stats import norm

from spc.acceptance import Line, Method, Within, lot_mean
from spc.acceptance.averages import judge_average
from spc.acceptance.specification import Rule

RULES = get_args(Rule)
MOISTURE = Line(characteristic="moisture", unit="g/100 g", scale="linear", upper=12.0)
AFLATOXIN = Line(characteristic="aflatoxin B1", unit="µg/kg", scale="log", upper=5.0)
HEAT = Line(characteristic="heat", unit="SHU", scale="log", lower=38_000.0)
OVEN = Method(
    method="oven",
    standing="reference",
    screening=False,
    relative=False,
    standard_uncertainty=0.3,
    repeatability=0.1,
)


@pytest.fixture
def judged(mean):
    """A mean against a line, by a rule."""

    def judge(line, rule, value, uncertainty, **other):
        about = {"characteristic": line.characteristic, "unit": line.unit, "scale": line.scale}
        return judge_average(replace(line, rule=rule), mean(value, uncertainty, **(about | other)))

    return judge


# By rule: outcome well inside, just inside, just outside and well outside the limit of 12,
# with a standard uncertainty of 0.3.
OUTCOMES = {
    "two risks": ("conforming", "undecided", "undecided", "not conforming"),
    "simple acceptance": ("conforming", "conforming", "not conforming", "not conforming"),
    "guarded acceptance": ("conforming", "undecided", "not conforming", "not conforming"),
    "guarded rejection": ("conforming", "conforming", "conforming", "not conforming"),
}


@pytest.mark.parametrize("rule", RULES)
def test_each_rule_draws_its_own_line_between_good_and_bad(judged, rule):
    found = [judged(MOISTURE, rule, value, 0.3).outcome for value in (11.0, 11.9, 12.1, 12.7)]

    assert tuple(found) == OUTCOMES[rule]


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("line", [MOISTURE, AFLATOXIN, HEAT])
def test_a_value_known_to_lie_on_its_limit_is_never_found_outside(judged, rule, line):
    limit = line.upper if line.lower is None else line.lower

    found = judged(line, rule, limit, 0.0)

    assert found.outcome == "conforming"


@pytest.mark.parametrize("rule", ["simple acceptance", "guarded acceptance", "guarded rejection"])
def test_the_last_digit_of_a_logarithm_pushes_no_mean_over_its_limit(judged, rule):
    just_over = math.nextafter(5.0, 6.0)

    assert judged(AFLATOXIN, rule, just_over, 0.12).outcome != "not conforming"


@pytest.mark.parametrize(
    ("rule", "sentence"),
    [
        (
            "two risks",
            "Rule of two risks: conforming from a chance of 95 %, not conforming at 5 % or less.",
        ),
        (
            "simple acceptance",
            "Simple acceptance: a mean inside the limits conforms, one outside does not.",
        ),
        (
            "guarded acceptance",
            "Guarded acceptance: conforming only from a chance of 95 %, not conforming when the"
            " mean lies outside the limits.",
        ),
        (
            "guarded rejection",
            "Guarded rejection: not conforming only when the mean lies outside by more than its"
            " expanded uncertainty (k = 2), conforming otherwise.",
        ),
    ],
)
def test_the_rule_is_printed_with_the_verdict(judged, rule, sentence):
    assert judged(MOISTURE, rule, 11.0, 0.3).reason.endswith(f" {sentence}")


def test_the_risks_printed_are_those_of_the_line(judged):
    line = replace(MOISTURE, consumer_risk=0.025, producer_risk=0.001)

    reason = judged(line, "two risks", 11.0, 0.3).reason

    assert "from a chance of 97.5 %, not conforming at 0.1 % or less" in reason


class TestGuardedRejection:
    """As a laboratory of official control does: result less expanded uncertainty."""

    @pytest.mark.parametrize(("value", "outcome"), [(6.57, "conforming"), (6.59, "not conforming")])
    def test_aflatoxin_is_lowered_by_a_share_of_itself(self, judged, value, outcome):
        """12 % of standard uncertainty: 5.0 / (1 - 0.24) = 6.579."""
        assert judged(AFLATOXIN, "guarded rejection", value, 0.12).outcome == outcome

    @pytest.mark.parametrize(
        ("value", "outcome"), [(34_400.0, "conforming"), (34_300.0, "not conforming")]
    )
    def test_heat_is_raised_by_a_factor(self, judged, value, outcome):
        """5 %: 38 000 / exp(0.1) = 34 384; a share of itself would reject up to 34 545."""
        assert judged(HEAT, "guarded rejection", value, 0.05).outcome == outcome

    def test_an_uncertainty_of_half_the_value_rejects_nothing_above(self, judged):
        assert judged(AFLATOXIN, "guarded rejection", 500.0, 0.5).outcome == "conforming"

    def test_nothing_at_all_is_too_little_however_uncertain(self, judged):
        assert judged(HEAT, "guarded rejection", 0.0, math.inf).outcome == "not conforming"


class TestOpenReadings:
    @pytest.mark.parametrize("rule", RULES)
    def test_below_a_quantification_limit_under_the_limit_conforms(self, judged, rule):
        assert judged(AFLATOXIN, rule, 0.0, 0.12, high=0.5).outcome == "conforming"

    @pytest.mark.parametrize("rule", RULES)
    def test_below_one_far_above_the_limit_is_open(self, judged, rule):
        found = judged(AFLATOXIN, rule, 0.0, 0.12, high=80.0)

        assert found.outcome == "undecided"
        assert "more sensitive method" in found.remedy

    @pytest.mark.parametrize("rule", RULES)
    def test_above_range_and_far_above_the_limit_does_not_conform(self, judged, rule):
        assert judged(AFLATOXIN, rule, 20.0, 0.12, high=math.inf).outcome == "not conforming"

    @pytest.mark.parametrize("rule", RULES)
    def test_above_range_under_the_limit_is_open(self, judged, rule):
        found = judged(AFLATOXIN, rule, 2.0, 0.12, high=math.inf)

        assert found.outcome == "undecided"
        assert "dilute" in found.remedy

    @pytest.mark.parametrize("rule", ["simple acceptance", "guarded rejection"])
    def test_a_known_interval_across_the_limit_needs_a_number(self, judged, rule):
        found = judged(AFLATOXIN, rule, 3.0, 0.12, high=50.0)

        assert found.outcome == "undecided"
        assert "measure again by a method that gives numbers" in found.remedy


class TestRemedy:
    def test_guarded_acceptance_says_how_many_samples_would_do(self, judged):
        found = judged(
            MOISTURE, "guarded acceptance", 11.9, 0.3, within=Within(sigma=0.3, degrees=9)
        )

        # By hand: 0.1 / 1.645 = 0.0608, so the root of n must reach 4.93: 25 samples, 6 drawn.
        assert found.remedy.startswith("About 19 more samples")

    def test_guarded_acceptance_never_counts_on_rejection(self, judged):
        """Limits narrower than the uncertainty: inside, and yet the chance is below 5 %."""
        line = replace(MOISTURE, lower=11.99)

        found = judged(line, "guarded acceptance", 11.995, 0.3, method_part=0.3)

        assert found.outcome == "undecided"
        assert max(found.probability) < 0.05
        assert "A method with a smaller uncertainty, or a second laboratory, would." in found.remedy


# Lots of four samples by oven whose true mean is the limit: by rule, the share called conforming
# and not conforming that is stated.
LOTS, SPREAD = 4000, 0.8
STATED = {
    "two risks": (0.05, 0.05),
    "simple acceptance": (0.5, 0.5),
    "guarded acceptance": (0.05, 0.5),
    "guarded rejection": (float(norm.cdf(2.0)), float(norm.sf(2.0))),
}


@pytest.fixture(scope="module")
def means_at_the_limit(readings):
    generator = np.random.default_rng(106)
    drawn = 12.0 + SPREAD * generator.standard_normal((LOTS, 4))
    drawn += OVEN.standard_uncertainty * generator.standard_normal((LOTS, 1))
    about = {"characteristic": "moisture", "unit": "g/100 g", "basis": "", "method": OVEN}
    known = Within(sigma=SPREAD, degrees=10**7)
    return [lot_mean(readings(*lot, **about), scale="linear", within=known) for lot in drawn]


@pytest.mark.thorough
@pytest.mark.parametrize("rule", RULES)
def test_a_lot_on_its_limit_is_called_either_way_as_often_as_stated(means_at_the_limit, rule):
    """Four standard errors, each the root of p (1 - p) / 4000, are allowed."""
    line = replace(MOISTURE, rule=rule)

    outcomes: list[str] = [judge_average(line, one).outcome for one in means_at_the_limit]

    for outcome, stated in zip(("conforming", "not conforming"), STATED[rule], strict=True):
        allowed = 4.0 * math.sqrt(stated * (1.0 - stated) / LOTS)
        assert outcomes.count(outcome) / LOTS == pytest.approx(stated, abs=allowed)


def test_in_logarithms_guarded_rejection_rejects_no_more_often_than_stated():
    """Closed form at either limit: 1.1 % above for u = 12 %, and 2.3 % below, of at most 2.3 %."""
    u = 0.12

    above = norm.sf(-math.log(1.0 - 2.0 * u) / u)
    below = norm.cdf(-2.0)

    assert above == pytest.approx(0.0111, abs=5e-5)
    assert max(above, below) <= norm.sf(2.0) + 1e-15
