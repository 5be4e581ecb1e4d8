"""Double, sequential, skip-lot and sorting plans against published examples and enumeration.

NIST/SEMATECH e-Handbook of Statistical Methods 6.2.4 (double) and 6.2.6 (sequential, printed lines
from memory).  Dodge, H. F. and Romig, H. G. (1959), Sampling Inspection Tables: two entries as
textbooks quote them, from memory; their tables rest on approximations and on classes of lot
sizes.  Wald, A. (1945), Annals of Mathematical Statistics 16, 117-186: bounds of the risks.
"""

import functools
import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from spc.acceptance import (
    AttributesPlan,
    DoublePlan,
    Promise,
    SkipLotPlan,
    plan_by_aoql,
    plan_by_ltpd,
    sequential_plan,
)
from spc.errors import InvalidInput

HANDBOOK = Promise(aql=0.01, producer_risk=0.05, rql=0.10, consumer_risk=0.10)


@pytest.mark.parametrize(
    ("plan", "p", "accepted", "number"),
    [
        ((108, 2, 108, 4), 0.01, 0.961882, 117.71),
        ((108, 2, 108, 4), 0.05, 0.092825, 138.07),
        ((77, 1, 154, 4), 0.01, 0.950298, 104.56),
        ((77, 1, 154, 4), 0.05, 0.100514, 163.485),
        ((50, 2, 100, 6), 0.06, 0.460747, 105.483),
    ],
)
def test_double_plans_of_the_handbook_keep_their_risks(plan, p, accepted, number):
    found = DoublePlan(**dict(zip(("n1", "c1", "n2", "c2"), plan, strict=True)))

    assert found.acceptance_probability(p) == pytest.approx(accepted, abs=6e-7)
    assert found.average_sample_number(p) == pytest.approx(number, abs=6e-3)


def test_a_double_plan_by_every_pair_of_counts():
    plan, p = DoublePlan(n1=8, c1=1, n2=11, c2=4), 0.17

    accepted = number = 0.0
    for first in range(9):
        chance = math.comb(8, first) * p**first * (1 - p) ** (8 - first)
        if first <= 1 or first > 4:
            accepted += chance * (first <= 1)
            number += 8 * chance
            continue
        number += 19 * chance
        accepted += chance * sum(
            math.comb(11, second) * p**second * (1 - p) ** (11 - second)
            for second in range(5 - first)
        )

    assert plan.acceptance_probability(p) == pytest.approx(accepted, rel=1e-12)
    assert plan.average_sample_number([p]) == pytest.approx([number], rel=1e-12)
    shares = np.linspace(0.0, 1.0, 4001)
    assert plan.outgoing_limit().share == pytest.approx(
        (plan.acceptance_probability(shares) * shares).max(), rel=1e-6
    )


def test_the_sequential_lines_of_the_handbook():
    """x_a = -0.939 + 0.0397 n and x_r = 1.205 + 0.0397 n: nothing is accepted before 24 units.

    At 20 units the upper line is at 2.0002, so 3 are needed; the rounded line would ask for 2.
    """
    plan = sequential_plan(HANDBOOK)

    assert plan.accept_intercept == pytest.approx(0.939, abs=5e-4)
    assert plan.reject_intercept == pytest.approx(1.205, abs=5.5e-4)
    assert plan.slope == pytest.approx(0.0397, abs=5e-5)
    assert plan.acceptance_number([23, 24]).tolist() == [-1, 0]
    assert plan.rejection_number([1, 19, 20, 21]).tolist() == [2, 2, 3, 3]


def test_a_sequential_plan_by_every_path():
    plan, p = sequential_plan(HANDBOOK), 0.07

    @functools.cache
    def go_on(units, count):
        if units:
            if count <= int(plan.acceptance_number(units)):
                return 1.0, 0.0
            if count >= int(plan.rejection_number(units)):
                return 0.0, 0.0
            if units == plan.longest:
                return float(count <= plan.last_c), 0.0
        good, bad = go_on(units + 1, count), go_on(units + 1, count + 1)
        accepted, number = ((1 - p) * a + p * b for a, b in zip(good, bad, strict=True))
        return accepted, 1.0 + number

    accepted, number = go_on(0, 0)
    assert plan.acceptance_probability(p) == pytest.approx(accepted, rel=1e-10)
    assert plan.average_sample_number([p]) == pytest.approx([number], rel=1e-10)


def test_walds_bounds_hold_and_fewer_units_are_examined_than_by_the_single_plan():
    ended = sequential_plan(HANDBOOK)
    plan = replace(ended, longest=2000, last_c=math.floor(2000 * ended.slope))

    wrong_reject = 1.0 - float(plan.acceptance_probability(0.01))
    wrong_accept = float(plan.acceptance_probability(0.10))
    assert wrong_reject <= 0.05 / 0.9
    assert wrong_accept <= 0.10 / 0.95
    assert max(plan.average_sample_number([0.0, 0.01, 0.10, 0.5])) < ended.longest / 1.5
    assert float(ended.acceptance_probability(0.10)) < 0.107


def test_dodge_and_romig_for_a_quality_limit_of_three_percent():
    """Lots of 5000 with 1 % usual: n = 65, c = 3."""
    found = plan_by_aoql(5000, limit=0.03, usual=0.01)

    assert found.c == 3
    assert found.n == pytest.approx(65, abs=2)
    assert found.outgoing_limit().share <= 0.03
    assert AttributesPlan(n=found.n - 1, c=3, lot_size=5000).outgoing_limit().share > 0.03


def test_dodge_and_romig_for_a_tolerance_of_one_percent():
    """Lots of 5000 with 0.25 % usual: n = 770, c = 4."""
    found = plan_by_ltpd(5000, worst=0.01, usual=0.0025)

    assert found.c == pytest.approx(4, abs=1)
    table = AttributesPlan(n=770, c=4, lot_size=5000)
    assert table.acceptance_probability(0.01) == pytest.approx(0.10, abs=0.015)
    assert float(found.average_total_inspection(0.0025)) <= 1.02 * float(
        table.average_total_inspection(0.0025)
    )


def test_a_sorting_plan_is_the_least_of_all_that_keep_the_limit():
    every = [
        AttributesPlan(n=n, c=c, lot_size=60)
        for n in range(1, 60)
        for c in range(n)
        if stats.hypergeom.cdf(c, 60, 12, n) <= 0.1
    ]

    found = plan_by_ltpd(60, worst=0.2, usual=0.05)

    least = min(float(plan.average_total_inspection(0.05)) for plan in every)
    assert float(found.average_total_inspection(0.05)) == pytest.approx(least, rel=1e-12)


def test_skipping_lots_as_a_chain_of_states():
    """Perry's formula against the share of time in each state, solved for."""
    plan = SkipLotPlan(reference=AttributesPlan(n=20, c=1), share=0.25, clearance=4)
    accepted = float(plan.reference.acceptance_probability(0.04))
    moves = np.zeros((5, 5))
    for run in range(4):
        moves[run, run + 1], moves[run, 0] = accepted, 1.0 - accepted
    moves[4, 4], moves[4, 0] = 1.0 - 0.25 * (1.0 - accepted), 0.25 * (1.0 - accepted)
    time = np.linalg.lstsq(
        np.vstack((moves.T - np.eye(5), np.ones(5))), np.array([0.0] * 5 + [1.0])
    )[0]

    inspected = time[:4].sum() + 0.25 * time[4]
    assert plan.inspected_share(0.04) == pytest.approx(inspected, rel=1e-9)
    assert plan.acceptance_probability(0.04) == pytest.approx(
        1.0 - inspected * (1.0 - accepted), rel=1e-9
    )
    assert plan.average_sample_number(0.04) == pytest.approx(20 * inspected, rel=1e-9)


def test_what_skipping_guarantees_is_less_than_the_plan_alone_but_a_bound():
    plan = SkipLotPlan(reference=AttributesPlan(n=20, c=1), share=0.25, clearance=4)

    guarantee = plan.outgoing_limit()

    shares = np.linspace(0.0, 1.0, 2001)
    passed = plan.acceptance_probability(shares) * shares
    assert passed.max() <= guarantee.share * (1.0 + 1e-9)
    assert guarantee.share > plan.reference.outgoing_limit().share
    assert plan.longest_wait(0.05) == math.ceil(math.log(0.05) / math.log(0.75))


@pytest.mark.parametrize(
    "call",
    [
        lambda: DoublePlan(n1=5, c1=3, n2=5, c2=3),
        lambda: DoublePlan(n1=5, c1=1, n2=5, c2=2).acceptance_probability(1.2),
        lambda: sequential_plan(Promise(rql=0.1, consumer_risk=0.1)),
        lambda: SkipLotPlan(reference=AttributesPlan(n=5, c=0), share=1.0, clearance=4),
        lambda: plan_by_ltpd(1, worst=0.1, usual=0.01),
        lambda: plan_by_ltpd(50, worst=0.01, usual=0.02),
        lambda: plan_by_ltpd(50, worst=0.02, usual=0.01, consumer_risk=0.0),
        lambda: plan_by_aoql(50, limit=0.0, usual=0.0),
    ],
)
def test_what_is_no_plan_is_refused(call):
    with pytest.raises(InvalidInput):
        call()
