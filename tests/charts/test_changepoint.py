import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from spc import charts
from spc.errors import InvalidInput, NoSpread, TooFewLots
from tests.reached import counts

NAN = math.nan
LOTS = st.lists(st.integers(-400, 400).map(lambda v: v / 100.0), min_size=4, max_size=25).filter(
    lambda lots: len(set(lots)) > 1
)


def largest_t(x):
    """Two-sample t at every split, as a textbook writes it, over the rows of a table."""
    size = x.shape[1]
    for start in range(1, size):
        early, late = x[:, :start], x[:, start:]
        pooled = (early.var(axis=1) * start + late.var(axis=1) * (size - start)) / (size - 2)
        gap = np.abs(early.mean(axis=1) - late.mean(axis=1))
        yield gap / np.sqrt(pooled * (1.0 / start + 1.0 / (size - start)))


@pytest.mark.reaches(0.8)
@given(LOTS)
def test_the_start_has_the_largest_two_sample_t(lots):
    x = np.array(lots)
    with np.errstate(divide="ignore", invalid="ignore"):
        each = np.array([t[0] for t in largest_t(x[None, :])])

    found = charts.change_point(x)

    if counts(found.statistic < 1e5):
        assert found.statistic == pytest.approx(np.nanmax(each), rel=1e-6)
        assert each[found.start - 1] == pytest.approx(found.statistic, rel=1e-6)
    assert found.before == pytest.approx(x[: found.start].mean())
    assert found.after == pytest.approx(x[found.start :].mean())


@pytest.mark.reaches(0.8)
@given(LOTS, st.sampled_from([-3.0, 0.25, 40.0]), st.floats(-100.0, 100.0))
def test_unit_direction_and_zero_point_do_not_matter(lots, scale, shift):
    plain = charts.change_point(lots)

    moved = charts.change_point(shift + scale * np.array(lots))

    assert moved.chances == pytest.approx(plain.chances, abs=1e-4)
    if counts(plain.statistic < 1e4):
        assert moved.statistic == pytest.approx(plain.statistic, rel=1e-5)
        assert moved.p_value == pytest.approx(plain.p_value, rel=1e-4, abs=1e-12)


@given(LOTS)
def test_read_backwards_the_step_is_the_same(lots):
    there, back = charts.change_point(lots), charts.change_point(lots[::-1])

    assert back.chances[1:] == pytest.approx(there.chances[:0:-1], abs=1e-6)
    assert there.chances[0] == 0.0
    assert there.chances.sum() == pytest.approx(1.0)


def test_a_clear_step_is_dated_and_told_with_its_levels():
    x = [10.1, 9.9, 10.2, 9.8, 10.0, 12.1, 11.9, 12.2, 12.0]

    found = charts.change_point(x)

    assert found.start == 5
    assert (found.before, found.after) == pytest.approx((10.0, 12.05))
    assert found.statistic == pytest.approx(stats.ttest_ind(x[:5], x[5:]).statistic * -1.0)
    assert found.p_value < 1e-5
    assert found.plausible().tolist() == [5]


def test_the_more_confidence_the_more_lots_may_be_the_first():
    x = np.random.default_rng(2).normal(size=30)
    x[18:] += 1.2

    found = charts.change_point(x)

    few, many = found.plausible(0.5), found.plausible(0.99)
    assert set(few) < set(many)
    assert found.start in few
    assert found.plausible(1.0).size <= 30


def test_a_gap_is_passed_over_and_lots_keep_their_numbers():
    x = [NAN, 10.1, 9.9, NAN, 10.2, NAN, 12.1, 11.9, NAN]

    found = charts.change_point(x)

    assert found.start == 6
    assert found.size == 5
    assert found.chances[[0, 3, 5, 8]].tolist() == [0.0] * 4


def test_a_step_without_any_scatter_is_certain():
    found = charts.change_point([1.0, 1.0, 1.0, 2.0, 2.0])

    assert found.start == 3
    assert found.p_value < 1e-10
    assert found.chances[3] == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("size", "slack"), [(4, 0.0), (5, 0.0), (10, 0.04), (30, 0.2)], ids=["4", "5", "10", "30"]
)
def test_without_a_step_small_p_values_come_as_often_as_they_say_or_less(size, slack):
    """A bound: with few lots exact, with thirty up to a fifth too large at one in twenty."""
    trials = 40_000
    x = np.random.default_rng(size).normal(size=(trials, size))
    largest = np.max(list(largest_t(x)), axis=0)

    for risk in (0.05, 0.01):
        order = np.argsort(largest)[math.ceil(trials * (1.0 - risk))]
        told = charts.change_point(x[order]).p_value
        doubt = 3.0 * math.sqrt(risk * (1.0 - risk) / trials)
        assert risk - doubt < told < risk * (1.0 + slack) + doubt


def test_the_p_value_of_four_lots_is_that_of_caps_on_a_sphere():
    """Three directions on a sphere; caps of neighbours overlap, those of the outer two do not."""
    x = np.array([0.0, 0.1, 1.0, 1.05])
    found = charts.change_point(x)
    r = found.statistic / math.sqrt(2.0 + found.statistic**2)
    points = np.random.default_rng(8).normal(size=(400_000, 4))
    points -= points.mean(axis=1, keepdims=True)
    sums = np.abs(np.cumsum(points, axis=1)[:, :3]) / np.linalg.norm(points, axis=1)[:, None]
    beyond = (sums * np.sqrt(4.0 / np.array([3.0, 4.0, 3.0]))).max(axis=1) > r

    assert found.p_value == pytest.approx(beyond.mean(), abs=4.0 * math.sqrt(0.1 / 400_000))


def test_the_start_is_held_by_its_plausible_lots_as_often_as_told():
    generator = np.random.default_rng(75)
    held = 0
    for _ in range(400):
        x, start = generator.normal(size=25), generator.integers(1, 25)
        x[start:] += 1.5
        held += start in charts.change_point(x).plausible(0.9)

    assert held / 400 > 0.9 - 3.0 * math.sqrt(0.09 / 400)


@pytest.mark.parametrize("x", [[], [1.0], [1.0, 2.0, 3.0], [1.0, NAN, 2.0, NAN, 3.0]])
def test_fewer_than_four_lots_show_no_step(x):
    with pytest.raises(TooFewLots, match="needs at least 4 lots"):
        charts.change_point(x)


def test_a_constant_stream_shows_no_step():
    with pytest.raises(NoSpread):
        charts.change_point([7.0] * 9)


def test_an_infinite_lot_is_refused():
    with pytest.raises(InvalidInput, match="not a finite number"):
        charts.change_point([1.0, 2.0, math.inf, 3.0])


def test_a_table_of_lots_is_refused():
    with pytest.raises(InvalidInput, match="2 dimensions"):
        charts.change_point([[1.0, 2.0], [3.0, 4.0]])
