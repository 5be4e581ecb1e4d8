"""NIST/SEMATECH e-Handbook of Statistical Methods, section 6.2.3.2 (doi 10.18434/M32189).

Single sampling, n = 52, c = 3, lots of 10 000.  The page's columns of outgoing quality and total
inspection have known print faults, so those are compared with the formulas recomputed.
"""

import pytest
from scipy import optimize, stats

from spc.acceptance import AttributesPlan

PLAN = AttributesPlan(n=52, c=3)
LOT = 10_000

# Chances of acceptance at 1 % to 12 % as printed; those from 7 % on are from memory.
PRINTED = [0.998, 0.98, 0.93, 0.845, 0.739, 0.62, 0.502, 0.394, 0.3, 0.223, 0.162, 0.115]

# Share; chance binomial, and hypergeometric; outgoing quality Pa p, and with (N - n) / N; average
# total inspection.  By an independent program.
RECOMPUTED = [
    (0.01, 0.998153, 0.998236, 0.009982, 0.00993, 70.373),
    (0.02, 0.979765, 0.980091, 0.019595, 0.019493, 253.297),
    (0.03, 0.929537, 0.930037, 0.027886, 0.027741, 752.962),
    (0.04, 0.845989, 0.846461, 0.03384, 0.033664, 1584.097),
    (0.05, 0.738317, 0.738579, 0.036916, 0.036724, 2655.218),
    (0.06, 0.619594, 0.619558, 0.037176, 0.036982, 3836.28),
    (0.07, 0.501847, 0.501521, 0.035129, 0.034947, 5007.624),
    (0.08, 0.393763, 0.393214, 0.031501, 0.031337, 6082.845),
    (0.09, 0.30028, 0.299599, 0.027025, 0.026885, 7012.815),
    (0.1, 0.223187, 0.222462, 0.022319, 0.022203, 7779.735),
    (0.11, 0.162066, 0.161364, 0.017827, 0.017735, 8387.772),
    (0.12, 0.115198, 0.114566, 0.013824, 0.013752, 8854.006),
]


@pytest.mark.parametrize(("position", "printed"), list(enumerate(PRINTED, start=1)))
def test_the_curve_is_the_printed_one(position, printed):
    """Within a unit of the third decimal: the page is off by one at 4 and 5 %."""
    assert PLAN.acceptance_probability(position / 100.0) == pytest.approx(printed, abs=1.1e-3)


@pytest.mark.parametrize("row", RECOMPUTED)
def test_curves_outgoing_quality_and_inspection_recomputed(row):
    p, binomial, counted, outgoing, outgoing_finite, inspection = row

    small = AttributesPlan(n=52, c=3, lot_size=LOT)

    assert PLAN.acceptance_probability(p) == pytest.approx(binomial, abs=5.1e-7)
    assert small.acceptance_probability(p) == pytest.approx(counted, abs=5.1e-7)
    assert PLAN.average_outgoing_quality(p) == pytest.approx(outgoing, abs=5.1e-7)
    assert PLAN.average_outgoing_quality(p, LOT) == pytest.approx(outgoing_finite, abs=5.1e-7)
    assert PLAN.average_total_inspection(p, LOT) == pytest.approx(inspection, abs=5.1e-4)


def test_the_worst_outgoing_quality():
    """Printed 0.0372 (from memory); where it is reached, the slope of p Pa(p) is zero."""
    finite, large = PLAN.outgoing_limit(LOT), PLAN.outgoing_limit()

    def slope(p):
        return stats.binom.cdf(3, 52, p) - p * 52 * stats.binom.pmf(3, 51, p)

    incoming = optimize.brentq(slope, 0.01, 0.2, xtol=1e-14)
    assert finite.share == pytest.approx(0.0372, abs=5.1e-5)
    assert (finite.share, large.share) == pytest.approx((0.0371901, 0.0373845), abs=5.1e-8)
    assert (finite.incoming, large.incoming) == pytest.approx((incoming, incoming), abs=2e-8)
