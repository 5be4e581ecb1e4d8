"""Pairs of mean and deviation that keep the odds: a convex set, bounded by its tangents."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from spc.blend.search.cone import Admissible, chance_inside
from tests.reached import counts

ODDS = st.floats(0.5, 0.999)
MEANS = st.floats(-1.5, 1.5)
NEARER = st.floats(-0.9, 0.9)
DEVIATIONS = st.floats(1e-4, 3.0)
WINDOW = {"lower": -1.0, "upper": 1.0}


@pytest.mark.parametrize(
    ("lower", "upper"), [(-1.0, 1.0), (-math.inf, 1.0), (-1.0, math.inf), (2.0, 9.0)]
)
def test_the_chance_is_that_of_a_normal_value(lower, upper):
    for mean, deviation in [(0.0, 1.0), (0.9, 0.2), (-3.0, 0.5), (30.0, 2.0)]:
        normal = stats.norm(mean, deviation)
        chance = chance_inside(mean, deviation, lower=lower, upper=upper)

        assert chance == pytest.approx(normal.cdf(upper) - normal.cdf(lower), abs=1e-14)


def test_without_spread_a_mean_is_inside_or_it_is_not():
    assert chance_inside(1.0, 0.0, **WINDOW) == 1.0
    assert chance_inside(1.1, 0.0, **WINDOW) == 0.0


def test_a_chance_far_out_keeps_its_digits():
    far = chance_inside(-12.0, 1.0, **WINDOW)

    assert far == pytest.approx(stats.norm.sf(11.0) - stats.norm.sf(13.0), rel=1e-9)


@pytest.mark.reaches(0.3)
@settings(deadline=None, max_examples=200)
@given(
    odds=ODDS,
    means=st.tuples(NEARER, NEARER),
    deviations=st.tuples(st.floats(1e-4, 0.8), st.floats(1e-4, 0.8)),
)
def test_between_two_pairs_that_keep_the_odds_every_pair_does(odds, means, deviations):
    admissible = Admissible(**WINDOW, odds=odds)
    kept = all(admissible.chance(*pair) >= odds for pair in zip(means, deviations, strict=True))

    if counts(kept):
        assert admissible.chance(sum(means) / 2.0, sum(deviations) / 2.0) >= odds - 1e-12


def test_below_an_even_chance_mixing_two_lots_that_keep_the_odds_may_lose_them():
    """Either lot alone is off by 1.2 and so uncertain that it may be inside; their mix is not."""
    alone = chance_inside(1.2, 0.25, **WINDOW)
    mixed = chance_inside(1.2, 0.25 / math.sqrt(2.0), **WINDOW)

    assert mixed < 0.2 < alone


@settings(deadline=None, max_examples=200)
@given(odds=ODDS, mean=MEANS, deviation=DEVIATIONS, one_sided=st.booleans())
def test_no_tangent_cuts_a_pair_that_keeps_the_odds_and_one_cuts_each_that_does_not(
    odds, mean, deviation, one_sided
):
    upper = math.inf if one_sided else 1.0
    admissible = Admissible(lower=-1.0, upper=upper, odds=odds)
    all_lines = admissible.tangents(15)
    allowed = all_lines.intercept + all_lines.slope * mean
    chance = admissible.chance(mean, deviation)

    if chance >= odds:
        assert np.all(all_lines.width * deviation <= allowed + 1e-9)
    elif chance < odds - 1e-6 and -1.0 < mean < upper:
        near = admissible.tangent_near(mean, deviation)
        assert float(near.width[0]) * deviation > float(near.intercept[0] + near.slope[0] * mean)


def test_the_widest_deviation_is_in_the_middle_of_the_window():
    admissible = Admissible(**WINDOW, odds=0.95)

    assert admissible.widest == pytest.approx(1.0 / stats.norm.ppf(0.975))
    assert admissible.chance(0.0, admissible.widest) == pytest.approx(0.95)
    assert math.isinf(Admissible(lower=0.0, upper=math.inf, odds=0.9).widest)


@pytest.mark.parametrize("upper", [1.0, math.inf])
def test_the_boundary_moves_as_far_as_solving_anew_says(upper):
    def largest(mean, **change):
        limits = {"lower": -1.0, "upper": upper, "odds": 0.9} | change
        low, high = 1e-6, 5.0
        for _ in range(200):
            middle = (low + high) / 2.0
            kept = Admissible(**limits).chance(mean, middle) >= limits["odds"]
            low, high = (middle, high) if kept else (low, middle)
        return low

    mean, step = -0.4, 1e-5
    there = largest(mean)
    moved = Admissible(lower=-1.0, upper=upper, odds=0.9).boundary(mean, there)

    assert moved.per_odds == pytest.approx(
        (largest(mean, odds=0.9 + step) - there) / step, rel=1e-3
    )
    assert moved.per_lower == pytest.approx(
        (largest(mean, lower=-1.0 + step) - there) / step, rel=1e-3
    )
    if math.isfinite(upper):
        assert moved.per_upper == pytest.approx(
            (largest(mean, upper=upper + step) - there) / step, rel=1e-3
        )
