"""The decision's curve under every rule that a specification can state."""

import numpy as np
import pytest
from scipy import stats

from spc.acceptance import Risks, conformity, rule_curve
from spc.errors import InvalidInput

RISKS = Risks(consumer=0.05, producer=0.10)
RULES = ("two risks", "simple acceptance", "guarded acceptance", "guarded rejection")
TRUTH = np.array([3.1, 4.2, 5.0, 5.6])
# With one upper limit, 5, and an uncertainty of 0.5: the means found up to which the lot is called
# conforming, and from which on not conforming.
ENDS = {
    "two risks": (5.0 - stats.norm.ppf(0.95) * 0.5, 5.0 + stats.norm.ppf(0.90) * 0.5),
    "simple acceptance": (5.0, 5.0),
    "guarded acceptance": (5.0 - stats.norm.ppf(0.95) * 0.5, 5.0),
    "guarded rejection": (6.0, 6.0),
}


@pytest.mark.parametrize("rule", RULES)
def test_each_rule_has_its_curve_in_closed_form(rule):
    found = rule_curve(TRUTH, rule=rule, uncertainty=0.5, risks=RISKS, upper=5.0)

    good, bad = ENDS[rule]
    assert found.conforming == pytest.approx(stats.norm.cdf((good - TRUTH) / 0.5), rel=1e-9)
    assert found.not_conforming == pytest.approx(stats.norm.sf((bad - TRUTH) / 0.5), rel=1e-9)
    assert found.conforming + found.undecided + found.not_conforming == pytest.approx(np.ones(4))


@pytest.mark.parametrize("rule", RULES)
def test_between_two_limits_the_curve_is_the_share_of_means_so_decided(rule):
    """Every mean within eight uncertainties is judged, and weighed by its density."""
    mean = np.linspace(-4.0, 4.0, 400_001)
    weight = stats.norm.pdf(mean, 0.6, 0.5) * (mean[1] - mean[0])
    chance = conformity(mean, 0.5, lower=-1.0, upper=1.0)
    inside = np.abs(mean) <= 1.0
    conforming = {
        "two risks": chance >= 0.95,
        "simple acceptance": inside,
        "guarded acceptance": chance >= 0.95,
        "guarded rejection": np.abs(mean) <= 2.0,
    }[rule]
    rejected = chance <= 0.10 if rule == "two risks" else ~inside
    rejected = ~conforming if rule in ("simple acceptance", "guarded rejection") else rejected

    found = rule_curve([0.6], rule=rule, uncertainty=0.5, risks=RISKS, lower=-1.0, upper=1.0)

    assert found.conforming[0] == pytest.approx(weight[conforming].sum(), abs=3e-5)
    assert found.not_conforming[0] == pytest.approx(weight[rejected].sum(), abs=3e-5)


@pytest.mark.parametrize("rule", RULES)
def test_a_mean_known_exactly_is_decided_by_where_it_lies(rule):
    found = rule_curve([4.0, 6.0], rule=rule, uncertainty=0.0, risks=RISKS, upper=5.0)

    assert found.conforming.tolist() == [1.0, 0.0]
    assert found.not_conforming.tolist() == [0.0, 1.0]


def test_without_a_limit_there_is_no_curve():
    with pytest.raises(InvalidInput):
        rule_curve([1.0], rule="simple acceptance", uncertainty=0.5, risks=RISKS)
