"""Variables plans from two risk points: textbook designs, and the exact ones beside them.

The textbooks' figures are from memory; the exact ones were computed by an independent program.
"""

import math

import pytest
from scipy import stats

from spc.acceptance import VariablesPlan, estimated_outside, variables_plan

# AQL, RQL, sigma unknown: n and the span of k; sigma known: n and the span of k.  Risks 5 % and
# 10 %; at the lower k the consumer's is used up, at the higher one the producer's.
EXACT = [
    (0.01, 0.06, 42, 1.89756, 1.90529, 15, 1.88567, 1.90165),
    (0.01, 0.08, 28, 1.81726, 1.82518, 11, 1.79147, 1.83041),
    (0.01, 0.1, 21, 1.75029, 1.76078, 8, 1.73465, 1.7448),
    (0.01, 0.05, 55, 1.94807, 1.95219, 19, 1.93886, 1.94899),
    (0.01, 0.046, 63, 1.96969, 1.97403, 21, 1.9646, 1.96741),
    (0.005, 0.02, 115, 2.28566, 2.28649, 32, 2.2803, 2.28506),
    (0.02, 0.08, 51, 1.69366, 1.69787, 21, 1.68473, 1.69481),
    (0.025, 0.1, 43, 1.5848, 1.5874, 19, 1.57556, 1.58261),
    (0.04, 0.15, 33, 1.35675, 1.35898, 17, 1.34726, 1.35175),
]

# Curve of n = 30, k = 1.86, sigma unknown.
CURVE = [
    (0.01, 0.941721),
    (0.02, 0.756552),
    (0.03, 0.552537),
    (0.04, 0.383476),
    (0.05, 0.258466),
    (0.06, 0.171099),
    (0.07, 0.111939),
    (0.08, 0.072642),
    (0.09, 0.046862),
    (0.1, 0.030095),
    (0.11, 0.019256),
    (0.12, 0.012282),
    (0.13, 0.007811),
    (0.14, 0.004955),
    (0.15, 0.003135),
]


@pytest.mark.parametrize("row", EXACT)
def test_the_smallest_plan_and_its_span_of_k(row):
    aql, rql, n, lower, upper, n_known, lower_known, upper_known = row

    unknown = variables_plan(aql=aql, rql=rql)
    known = variables_plan(aql=aql, rql=rql, sigma_known=True)

    assert unknown.n == n
    assert unknown.k == pytest.approx((lower + upper) / 2.0, abs=1.1e-5)
    assert known.n == n_known
    assert known.k == pytest.approx((lower_known + upper_known) / 2.0, abs=1.1e-5)
    assert VariablesPlan(n=n, k=lower).acceptance_probability(rql) == pytest.approx(0.1, abs=1e-5)
    assert VariablesPlan(n=n, k=upper).acceptance_probability(aql) == pytest.approx(0.95, abs=1e-5)


@pytest.mark.parametrize(("p", "accepted"), CURVE)
def test_the_curve_of_thirty_units(p, accepted):
    assert VariablesPlan(n=30, k=1.86).acceptance_probability(p) == pytest.approx(
        accepted, abs=5e-7
    )


@pytest.mark.parametrize(
    ("plan", "points"),
    [
        (VariablesPlan(n=40, k=1.9), {0.01: 0.948375, 0.06: 0.104595}),
        (VariablesPlan(n=100, k=2.00), {0.01: 0.970745}),
        (VariablesPlan(n=100, k=2.14), {0.01: 0.853942}),
        (VariablesPlan(n=27, k=1.81), {0.01: 0.952684, 0.08: 0.108372}),
        (VariablesPlan(n=10, k=1.81, sigma_known=True), {0.01: 0.948749, 0.08: 0.100185}),
        (VariablesPlan(n=21, k=1.967, sigma_known=True), {0.01: 0.950194, 0.046: 0.098082}),
    ],
    ids=["nomograph", "letter O", "letter O tightened", "unknown", "known", "granulate"],
)
def test_textbook_plans_have_the_risks_that_their_curves_give(plan, points):
    for p, accepted in points.items():
        assert plan.acceptance_probability(p) == pytest.approx(accepted, abs=1e-6)


def test_the_nomograph_plan_of_forty_misses_both_risks_by_a_little():
    """Forty-two are needed; the nomograph's k = 1.9 is that of the exact plan rounded."""
    exact = variables_plan(aql=0.01, rql=0.06)

    assert exact.n == 42
    assert exact.k == pytest.approx(1.9, abs=5e-3)


def test_the_bottles_of_the_textbook_are_accepted_by_both_procedures():
    """Lower limit 225 psi, mean 255, s 15: index 2.0; estimated share 0.0206 of at most 0.0265."""
    plan = VariablesPlan(n=40, k=1.9)

    assert estimated_outside(2.0, n=40) == pytest.approx(0.0205857, abs=5e-8)
    assert estimated_outside(2.0, n=40) == pytest.approx(0.020, abs=1e-3)
    assert plan.most_outside == pytest.approx(0.026540, abs=5e-7)
    assert plan.most_outside == pytest.approx(0.030, abs=4e-3)


@pytest.mark.parametrize(("aql", "rql", "n", "n_known"), [(r[0], r[1], r[2], r[5]) for r in EXACT])
def test_wallis_approximation_is_near_and_never_above(aql, rql, n, n_known):
    """k = (za z2 + zb z1) / (za + zb), n = ((za + zb) / (z1 - z2))^2, times 1 + k^2 / 2."""
    za, zb = stats.norm.isf(0.05), stats.norm.isf(0.10)
    z1, z2 = stats.norm.isf(aql), stats.norm.isf(rql)
    k = (za * z2 + zb * z1) / (za + zb)
    known = ((za + zb) / (z1 - z2)) ** 2

    assert math.ceil(known) == n_known
    assert n - 2.0 <= known * (1.0 + k**2 / 2.0) <= n
    assert variables_plan(aql=aql, rql=rql).k == pytest.approx(k, abs=0.02)
