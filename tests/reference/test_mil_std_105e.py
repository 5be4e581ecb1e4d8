"""MIL-STD-105E (10 May 1989), sampling by attributes: curves of its plans and of textbook ones.

Printed curves are from memory (n = 89) or seen in an exercise bank (n = 50); the other figures were
computed by an independent program.
"""

import numpy as np
import pytest
from scipy import optimize

from spc.acceptance import AttributesPlan, attributes_plan, zero_acceptance

# n = 89, c = 2: share, chance of acceptance as printed, and to eight decimals.
CURVE_89 = [
    (0.005, 0.9897, 0.98968755),
    (0.01, 0.9397, 0.93968992),
    (0.02, 0.7366, 0.73657758),
    (0.03, 0.4985, 0.49848284),
    (0.04, 0.3042, 0.30415836),
    (0.05, 0.1721, 0.17207686),
    (0.06, 0.0919, 0.09186935),
    (0.07, 0.0468, 0.04681985),
    (0.08, 0.0230, 0.02295508),
    (0.09, 0.0109, 0.01088643),
]

# n = 50, c = 1: share and chance of acceptance as printed.
CURVE_50 = [
    (0.005, 0.97387),
    (0.01, 0.91056),
    (0.02, 0.73577),
    (0.03, 0.55528),
    (0.04, 0.40048),
    (0.05, 0.27943),
    (0.06, 0.19000),
    (0.08, 0.08271),
]

# n, c, and the shares accepted with chances of 99, 95, 50, 10 and 5 %.
SHARES_AT = [
    (13, 0, 0.0007728, 0.0039379, 0.0519225, 0.1623224, 0.2058167),
    (20, 0, 0.0005024, 0.0025614, 0.0340637, 0.1087491, 0.1391083),
    (32, 1, 0.0047055, 0.0112195, 0.0518962, 0.1161951, 0.1398495),
    (50, 1, 0.0029968, 0.0071537, 0.0333402, 0.0755806, 0.0913981),
    (52, 1, 0.0028805, 0.0068768, 0.0320663, 0.0727543, 0.0880089),
    (80, 2, 0.0055047, 0.0102978, 0.0332853, 0.0651597, 0.0766109),
    (89, 2, 0.0049430, 0.0092494, 0.0299321, 0.0586940, 0.0690512),
    (65, 3, 0.0128832, 0.0212911, 0.0562022, 0.0998981, 0.1149872),
    (125, 3, 0.0066441, 0.0110029, 0.0292977, 0.0526632, 0.0608586),
    (100, 0, 0.0001005, 0.0005128, 0.0069075, 0.0227628, 0.0295130),
    (100, 1, 0.0014919, 0.0035652, 0.0167267, 0.0383395, 0.0465598),
    (100, 2, 0.0043950, 0.0082258, 0.0266507, 0.0523453, 0.0616192),
    (770, 4, 0.0016641, 0.0025620, 0.0060635, 0.0103544, 0.0118479),
]

# Lot, nonconforming units in it, n, c, and the chance of acceptance: hypergeometric, binomial.
SMALL_LOTS = [
    (50, 2, 10, 0, 0.63673469, 0.66483264),
    (50, 5, 10, 1, 0.74189998, 0.73609893),
    (100, 5, 10, 0, 0.58375237, 0.59873694),
    (1000, 20, 50, 1, 0.73604256, 0.73577139),
    (500, 10, 50, 1, 0.73650251, 0.73577139),
    (100, 10, 20, 2, 0.68122006, 0.67692681),
    (30, 3, 5, 0, 0.56650246, 0.59049000),
    (4000, 40, 120, 1, 0.66122951, 0.66226571),
    (200, 4, 20, 0, 0.65388943, 0.66760797),
]

# Zero acceptance, large lots: share, and n at consumer risks of 10, 5 and 1 %.
ZERO_LARGE = [
    (0.1, 22, 29, 44),
    (0.05, 45, 59, 90),
    (0.04, 57, 74, 113),
    (0.025, 91, 119, 182),
    (0.02, 114, 149, 228),
    (0.01, 230, 299, 459),
    (0.005, 460, 598, 919),
    (0.001, 2302, 2995, 4603),
]

# Zero acceptance, small lots: lot, share, consumer risk, units nonconforming, n.
ZERO_SMALL = [
    (20, 0.05, 0.05, 1, 19),
    (40, 0.05, 0.05, 2, 31),
    (60, 0.05, 0.05, 3, 38),
    (80, 0.05, 0.05, 4, 42),
    (100, 0.05, 0.05, 5, 45),
    (200, 0.05, 0.05, 10, 51),
    (500, 0.05, 0.05, 25, 56),
    (1000, 0.05, 0.05, 50, 57),
    (10000, 0.05, 0.05, 500, 59),
    (100, 0.01, 0.05, 1, 95),
    (200, 0.01, 0.05, 2, 155),
    (500, 0.01, 0.05, 5, 225),
    (1000, 0.01, 0.05, 10, 258),
    (5000, 0.01, 0.05, 50, 290),
    (10000, 0.01, 0.05, 100, 294),
    (20, 0.1, 0.1, 2, 14),
    (50, 0.1, 0.1, 5, 18),
    (100, 0.1, 0.1, 10, 20),
    (500, 0.1, 0.1, 50, 22),
]

# Two points, risks 5 % and 10 %: AQL, RQL, n, c, and the chances of acceptance there.
TWO_POINTS = [
    (0.01, 0.06, 110, 3, 0.974962, 0.098030),
    (0.02, 0.08, 98, 4, 0.952667, 0.099483),
    (0.01, 0.08, 65, 2, 0.972407, 0.099099),
    (0.01, 0.05, 132, 3, 0.955747, 0.099228),
    (0.01, 0.02, 1235, 18, 0.953691, 0.099606),
    (0.05, 0.15, 77, 7, 0.961523, 0.092534),
    (0.005, 0.03, 221, 3, 0.974241, 0.099700),
    (0.01, 0.1, 52, 2, 0.984647, 0.096633),
]


@pytest.mark.parametrize(("p", "printed", "exact"), CURVE_89)
def test_the_curve_of_89_units_is_the_printed_one(p, printed, exact):
    accepted = AttributesPlan(n=89, c=2).acceptance_probability(p)

    assert accepted == pytest.approx(printed, abs=5.1e-5)
    assert accepted == pytest.approx(exact, abs=5.1e-9)


@pytest.mark.parametrize(("p", "printed"), CURVE_50)
def test_the_curve_of_50_units_is_the_printed_one(p, printed):
    assert AttributesPlan(n=50, c=1).acceptance_probability(p) == pytest.approx(printed, abs=5.1e-6)


def test_sorting_rejected_lots_of_ten_thousand():
    """From memory: inspection 687 units, outgoing 0.0093, limit about 0.0155 read off a graph."""
    plan = AttributesPlan(n=89, c=2)
    limit = plan.outgoing_limit(10_000)

    assert plan.average_total_inspection(0.01, 10_000) == pytest.approx(687, abs=0.5)
    assert plan.average_total_inspection(0.01, 10_000) == pytest.approx(686.7332, abs=5.1e-5)
    assert plan.average_outgoing_quality(0.01, 10_000) == pytest.approx(0.0093133, abs=5.1e-8)
    assert plan.average_outgoing_quality(0.01) == pytest.approx(0.0093969, abs=5.1e-8)
    assert limit.share == pytest.approx(0.0152463, abs=5.1e-8)
    assert limit.share == pytest.approx(0.0155, abs=3e-4)
    assert limit.incoming == pytest.approx(0.0252770, abs=5.1e-8)
    assert plan.outgoing_limit().share == pytest.approx(0.0153833, abs=5.1e-8)


@pytest.mark.parametrize(("n", "c", "shares"), [(n, c, shares) for n, c, *shares in SHARES_AT])
def test_shares_at_stated_chances(n, c, shares):
    plan = AttributesPlan(n=n, c=c)

    for chance, share in zip((0.99, 0.95, 0.5, 0.1, 0.05), shares, strict=True):

        def excess(p, chance=chance):
            return float(plan.acceptance_probability(p)) - chance

        assert optimize.brentq(excess, 0.0, 1.0, xtol=1e-12) == pytest.approx(share, abs=5.1e-8)


@pytest.mark.parametrize(("size", "bad", "n", "c", "exact", "binomial"), SMALL_LOTS)
def test_a_small_lot_is_counted_exactly(size, bad, n, c, exact, binomial):
    small = AttributesPlan(n=n, c=c, lot_size=size).acceptance_probability(bad / size)
    large = AttributesPlan(n=n, c=c).acceptance_probability(bad / size)

    assert small == pytest.approx(exact, abs=5.1e-9)
    assert large == pytest.approx(binomial, abs=5.1e-9)


@pytest.mark.parametrize(("p", "at_10", "at_5", "at_1"), ZERO_LARGE)
def test_zero_acceptance_of_large_lots(p, at_10, at_5, at_1):
    found = [zero_acceptance(rql=p, consumer_risk=risk).n for risk in (0.10, 0.05, 0.01)]

    assert found == [at_10, at_5, at_1]


@pytest.mark.parametrize(("size", "p", "risk", "bad", "n"), ZERO_SMALL)
def test_zero_acceptance_of_small_lots(size, p, risk, bad, n):
    plan = zero_acceptance(rql=p, consumer_risk=risk, lot_size=size)

    assert round(p * size) == bad
    assert plan.n == n


@pytest.mark.parametrize(("aql", "rql", "n", "c", "at_aql", "at_rql"), TWO_POINTS)
def test_two_point_plans(aql, rql, n, c, at_aql, at_rql):
    plan = attributes_plan(aql=aql, rql=rql)

    assert (plan.n, plan.c) == (n, c)
    assert plan.acceptance_probability(np.array([aql, rql])) == pytest.approx(
        [at_aql, at_rql], abs=5.1e-7
    )
