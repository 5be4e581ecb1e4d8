"""Several characteristics at once, as published.

Tracy, N. D., Young, J. C. and Mason, R. L. (1992), Multivariate control charts for individual
observations, Journal of Quality Technology 24, 88-95: the limit of its example, from memory.

Prabhu, S. S. and Runger, G. C. (1997), Designing a multivariate EWMA control chart, Journal of
Quality Technology 29, 8-15, limits for a steady run of 200, by a Markov chain of few states;
Lowry, C. A. et al. (1992), Technometrics 34, 46-53, by simulation.  Both from memory.

Lucas, J. M. and Saccucci, M. S. (1990), Technometrics 32, 1-12: with one characteristic the
chart is the two-sided average of refs/tables.md 3c, whose exact figures stand below.
"""

import numpy as np
import pytest
from scipy import special

from spc import charts

# Fourteen invented lots of three characteristics: the printed limit depends on their number only.
START = np.random.default_rng(1992).normal(size=(14, 3))

# Characteristics, weight, limit.
PRABHU_RUNGER = [
    (2, 0.05, 7.35), (2, 0.10, 8.64), (2, 0.20, 9.65), (2, 0.30, 10.08), (2, 0.40, 10.31),
    (2, 0.50, 10.44), (2, 0.60, 10.52), (2, 0.80, 10.58), (4, 0.05, 11.22), (4, 0.10, 12.73),
    (4, 0.20, 13.87), (4, 0.30, 14.34), (4, 0.40, 14.58), (4, 0.50, 14.71), (4, 0.60, 14.78),
    (4, 0.80, 14.85), (6, 0.05, 14.60), (6, 0.10, 16.27), (6, 0.20, 17.51), (6, 0.30, 18.01),
    (10, 0.05, 20.72), (10, 0.10, 22.67), (10, 0.20, 24.07), (10, 0.30, 24.62),
    (15, 0.05, 27.82), (15, 0.10, 30.03), (15, 0.20, 31.59), (15, 0.30, 32.19),
]  # fmt: skip

# Weight, width in sigmas, exact average run length of a steady supplier.
ONE_CHARACTERISTIC = [
    (0.40, 3.054, 499.95134),
    (0.25, 2.998, 499.83600),
    (0.20, 2.962, 499.73512),
    (0.10, 2.814, 499.57955),
    (0.05, 2.615, 499.93301),
]


def test_the_limit_for_lots_of_the_baseline_is_the_printed_one():
    """Fourteen lots, three characteristics, risk 0.005: 8.55."""
    found = charts.t_squared(START, risk=0.005)

    assert found.upper == pytest.approx(np.full(14, 8.55), abs=5e-3)


def test_the_limit_for_new_lots_is_that_of_the_handbook():
    """NIST/SEMATECH e-Handbook, section 6.5.4.3.4: p (m+1) (m-1) / (m^2 - mp) F(p, m - p)."""
    found = charts.t_squared(np.vstack([START, START[:1]]), baseline=np.arange(15) < 14, risk=0.01)

    f = special.fdtri(3, 11, 0.99)
    assert found.upper[-1] == pytest.approx(3 * 15 * 13 / (14**2 - 14 * 3) * f, rel=1e-12)


@pytest.mark.parametrize(("characteristics", "weight", "printed"), PRABHU_RUNGER)
def test_limits_of_weighted_averages_are_near_the_printed_ones(characteristics, weight, printed):
    """A chain of few states errs by up to 0.04 with many characteristics and a small weight."""
    limit = charts.mewma_limit(200.0, characteristics=characteristics, weight=weight)

    assert limit == pytest.approx(printed, abs=0.04)


def test_the_limit_by_simulation_is_near_too():
    assert charts.mewma_limit(200.0, characteristics=2, weight=0.1) == pytest.approx(8.66, abs=0.03)


@pytest.mark.parametrize(("weight", "width", "run"), ONE_CHARACTERISTIC)
def test_one_characteristic_runs_as_long_as_the_two_sided_average(weight, width, run):
    found = charts.run_length_mewma(width**2, characteristics=1, weight=weight)

    assert found == pytest.approx(run, abs=6e-6)
