"""Published capability examples and intervals.

Bursting strengths and the two textbook intervals are from memory, recomputed; NIST is the
NIST/SEMATECH e-Handbook of Statistical Methods, section 6.1.6 (doi 10.18434/M32189), whose page
gives the formulas of intervals but no numbers.
"""

import math

import numpy as np
import pytest
from scipy import stats

from spc.capability import indices, percentile_indices, percentile_ratios
from spc.capability.intervals import lower_bound, nearest_interval, spread_interval

# Bursting strength of 100 glass containers, psi; lower limit 200.
STRENGTH = [
    265,
    205,
    263,
    307,
    220,
    268,
    260,
    234,
    299,
    215,
    197,
    286,
    274,
    243,
    231,
    267,
    281,
    265,
    214,
    318,
    346,
    317,
    242,
    258,
    276,
    300,
    208,
    187,
    264,
    271,
    280,
    242,
    260,
    321,
    228,
    250,
    299,
    258,
    267,
    293,
    265,
    254,
    281,
    294,
    223,
    260,
    308,
    235,
    283,
    277,
    200,
    235,
    246,
    328,
    296,
    276,
    264,
    269,
    235,
    290,
    221,
    176,
    248,
    263,
    231,
    334,
    280,
    265,
    272,
    283,
    265,
    262,
    271,
    245,
    301,
    280,
    274,
    253,
    287,
    258,
    261,
    248,
    260,
    274,
    337,
    250,
    278,
    254,
    274,
    275,
    278,
    250,
    265,
    270,
    298,
    257,
    210,
    280,
    269,
    251,
]

# Index found and n: two-sided 95 % of Cp (two ends) and of Cpk by Bissell (two ends); one-sided
# 95 % lower bounds of Cp, of Cpk by Bissell, and of an index to one limit exactly.
INTERVALS = [
    (1.0, 10, 0.547762, 1.453837, 0.493939, 1.506061, 0.607830, 0.575301, 0.567425),
    (1.0, 30, 0.743873, 1.255639, 0.716346, 1.283654, 0.781430, 0.761950, 0.758372),
    (1.33, 20, 0.910602, 1.748872, 0.882606, 1.777394, 0.970512, 0.954535, 0.948685),
    (1.33, 50, 1.067301, 1.592177, 1.050939, 1.609061, 1.106745, 1.095805, 1.093070),
    (1.5, 100, 1.291239, 1.708415, 1.281091, 1.718909, 1.323274, 1.316286, 1.314696),
    (0.67, 100, 0.576753, 0.763092, 0.556081, 0.783919, 0.591062, 0.574396, 0.573439),
    (1.67, 125, 1.462270, 1.877412, 1.454097, 1.885903, 1.494315, 1.488809, 1.487404),
]

# NIST's formulas at Cp = 1, Cpk = 2/3: n, ends of Cp, ends of Cpk.
NIST_INTERVALS = [
    (20, 0.684663, 1.314941, 0.409236, 0.924098),
    (30, 0.743873, 1.255639, 0.457707, 0.875626),
    (50, 0.802482, 1.197126, 0.505551, 0.827782),
    (100, 0.860826, 1.138943, 0.553128, 0.780206),
]

# Distribution: its 0.135 %, 50 % and 99.865 % points, upper limit (the lower is 0), Pp, Ppu, Ppl.
PERCENTILES = [
    (
        stats.weibull_min(1.5, scale=2.0),
        0.0244408,
        1.5664395,
        7.0425193,
        7.7316722,
        1.1016794,
        1.1258479,
        1.0158501,
    ),
    (
        stats.lognorm(0.5),
        0.2231327,
        1.0000000,
        4.4816375,
        5.1823746,
        1.2169470,
        1.2012665,
        1.2872212,
    ),
    (
        stats.gamma(4.0, scale=0.25),
        0.1163241,
        0.9180152,
        3.1701175,
        3.4835058,
        1.1407143,
        1.1391537,
        1.1450983,
    ),
    (stats.expon(), 0.0013509, 0.6931472, 6.6076507, 7.6009025, 1.1505537, 1.1679349, 1.0019528),
]


def sample(n, mean, sigma):
    """n values with exactly this mean and standard deviation."""
    values = np.linspace(-1.0, 1.0, n)
    return mean + sigma * values / values.std(ddof=1)


def test_the_glass_containers():
    found = indices(STRENGTH, lower=200.0)

    assert found.mean == pytest.approx(264.06, abs=5e-3)
    assert found.sigma == pytest.approx(32.02, abs=5e-3)
    assert found.sigma == pytest.approx(32.017930582532635)
    assert found.ppk == pytest.approx(0.67, abs=5e-3)
    assert found.ppk == found.cpk == pytest.approx(0.666917972, abs=5.1e-10)
    assert found.intervals.ppk.low == pytest.approx(0.5533504, abs=5.1e-8)
    assert found.intervals.ppk.high == pytest.approx(0.7804855, abs=5.1e-8)
    assert found.ppk_at_least == pytest.approx(0.5706538, abs=5.1e-8)
    assert found.expected_outside == pytest.approx(0.0227095, abs=5.1e-8)
    assert found.size == 100


def test_the_glass_containers_without_a_normal_distribution():
    """The percentile method with a normal family differs by the likeliest sigma only."""
    found = percentile_indices(STRENGTH, lower=200.0, family="normal")

    assert found.ppk == pytest.approx(0.666917972 * math.sqrt(100.0 / 99.0), abs=1e-6)


def test_the_nist_example_of_6_1_6():
    found = indices(sample(50, 16.0, 2.0), lower=8.0, upper=20.0, target=14.0)

    assert found.cp == pytest.approx(1.0, abs=1e-12)
    assert found.cpk == pytest.approx(0.6667, abs=5e-5)
    assert found.cpm == pytest.approx(0.7071067811865475)
    off_centre = abs(16.0 - 14.0) / 6.0
    assert found.cpk == pytest.approx((1.0 - off_centre) * (found.cp or 0.0))
    upward = indices(sample(50, 16.0, 2.0), upper=20.0)
    downward = indices(sample(50, 16.0, 2.0), lower=8.0)
    assert (upward.cpk, downward.cpk) == pytest.approx((0.6667, 1.3333), abs=5e-5)
    nearer = indices(sample(50, 16.0, 2.0), lower=8.0, upper=20.0, target=15.0)
    assert nearer.cpm == pytest.approx(0.8944271909999159)


@pytest.mark.parametrize("row", NIST_INTERVALS)
def test_the_formulas_of_nist_6_1_6(row):
    n, cp_low, cp_high, cpk_low, cpk_high = row

    found = indices(sample(n, 16.0, 2.0), lower=8.0, upper=20.0)

    assert found.intervals.cp is not None
    assert found.intervals.cp.low == pytest.approx(cp_low, abs=5.1e-7)
    assert found.intervals.cp.high == pytest.approx(cp_high, abs=5.1e-7)
    assert found.intervals.cpk.low == pytest.approx(cpk_low, abs=5.1e-7)
    assert found.intervals.cpk.high == pytest.approx(cpk_high, abs=5.1e-7)


def test_the_textbook_interval_of_cp():
    """Limits 38 and 62, s = 1.75, n = 20: 2.29, 1.57 to 3.01, printed with Cp already rounded."""
    found = indices(sample(20, 50.0, 1.75), lower=38.0, upper=62.0)

    assert found.cp == pytest.approx(2.29, abs=5e-3)
    assert found.intervals.cp is not None
    assert found.intervals.cp.low == pytest.approx(1.57, abs=6e-3)
    assert found.intervals.cp.high == pytest.approx(3.01, abs=6e-3)
    assert found.intervals.cp.low == pytest.approx(1.5649450, abs=5.1e-8)
    assert found.intervals.cp.high == pytest.approx(3.0055794, abs=5.1e-8)


def test_the_textbook_interval_of_cpk():
    """Cpk = 1.33, n = 20: 0.88 to 1.77 or 1.78."""
    found = nearest_interval(1.33, n=20, degrees=19, confidence=0.95)

    assert found.low == pytest.approx(0.88, abs=5e-3)
    assert found.low == pytest.approx(0.8826061, abs=5.1e-8)
    assert found.high == pytest.approx(1.7773939, abs=5.1e-8)


@pytest.mark.parametrize(
    ("limits", "n", "mean", "sigma", "printed"),
    [
        ((90.0, 100.0), 30, 97.0, 1.6, (0.625, 0.424751, 0.825249)),
        ((10.0, 20.0), 50, 16.0, 1.2, (1.1111111, 0.872511, 1.349711)),
    ],
)
def test_exercises_with_computed_answers(limits, n, mean, sigma, printed):
    found = indices(sample(n, mean, sigma), lower=limits[0], upper=limits[1])

    assert found.cpk == pytest.approx(printed[0], abs=5.1e-8)
    assert found.intervals.cpk.low == pytest.approx(printed[1], abs=5.1e-7)
    assert found.intervals.cpk.high == pytest.approx(printed[2], abs=5.1e-7)


@pytest.mark.parametrize("row", INTERVALS)
def test_intervals_and_bounds_of_the_table(row):
    value, n, cp_low, cp_high, cpk_low, cpk_high, cp_bound, cpk_bound, exact = row

    cp = spread_interval(value, degrees=n - 1, confidence=0.95)
    cpk = nearest_interval(value, n=n, degrees=n - 1, confidence=0.95)

    assert (cp.low, cp.high) == pytest.approx((cp_low, cp_high), abs=5.1e-7)
    assert (cpk.low, cpk.high) == pytest.approx((cpk_low, cpk_high), abs=5.1e-7)
    one_sided_cp = spread_interval(value, degrees=n - 1, confidence=0.90).low
    one_sided_cpk = nearest_interval(value, n=n, degrees=n - 1, confidence=0.90).low
    assert (one_sided_cp, one_sided_cpk) == pytest.approx((cp_bound, cpk_bound), abs=5.1e-7)
    assert lower_bound(value, n=n, confidence=0.95) == pytest.approx(exact, abs=5.1e-7)


@pytest.mark.parametrize("row", PERCENTILES)
def test_the_percentile_method_on_known_distributions(row):
    distribution, low, middle, high, upper, pp, ppu, ppl = row

    points = distribution.ppf([stats.norm.sf(3.0), 0.5, stats.norm.cdf(3.0)])
    found = percentile_ratios(points, 0.0, distribution.ppf(0.9995))

    # The table's points are rounded 0.135 % and 99.865 %, not the exact normal tails.
    assert points == pytest.approx([low, middle, high], rel=2e-4)
    assert distribution.ppf(0.9995) == pytest.approx(upper, abs=5.1e-8)
    assert (found.pp, found.ppu, found.ppl) == pytest.approx((pp, ppu, ppl), abs=3e-5)
    assert found.ppk == min(found.ppu, found.ppl)
    rounded = percentile_ratios(distribution.ppf([0.00135, 0.5, 0.99865]), 0.0, upper)
    assert (rounded.pp, rounded.ppu, rounded.ppl) == pytest.approx((pp, ppu, ppl), abs=2e-7)
