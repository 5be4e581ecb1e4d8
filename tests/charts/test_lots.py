import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from spc import charts
from spc.errors import InvalidInput, NotPositive

INF = math.inf


def exact(readings, sample, starts, scale="linear"):
    return charts.lot_values(readings, readings, sample, starts, scale=scale)


def test_samples_weigh_alike_however_often_each_was_read():
    lots = exact([10.0, 12.0, 14.0, 20.0], sample=[1, 1, 1, 2], starts=[0])

    assert lots.value.tolist() == [16.0]
    assert lots.spread == pytest.approx([np.std([12.0, 20.0], ddof=1)])
    assert (lots.samples.tolist(), lots.readings.tolist()) == ([2], [4])


def test_on_the_log_scale_a_lot_has_its_geometric_mean():
    lots = exact([20_000.0, 80_000.0], sample=[1, 2], starts=[0], scale="log")

    assert lots.value == pytest.approx([40_000.0])
    assert lots.spread == pytest.approx([math.log(4.0) / math.sqrt(2.0)])


def test_one_sample_shows_no_spread_between_samples():
    lots = exact([10.0, 12.0, 5.0], sample=[1, 1, 1], starts=[0, 2])

    assert np.isnan(lots.spread).all()
    assert lots.value.tolist() == [11.0, 5.0]


def test_the_same_sample_code_in_two_lots_is_two_samples():
    lots = exact([1.0, 2.0, 4.0], sample=[7, 7, 7], starts=[0, 1])

    assert lots.samples.tolist() == [1, 1]
    assert lots.value.tolist() == [1.0, 3.0]


readings_of_lots = st.lists(
    st.lists(st.lists(st.floats(0.5, 2000.0), min_size=1, max_size=3), min_size=1, max_size=4),
    min_size=1,
    max_size=6,
)


@settings(max_examples=100, deadline=None)
@given(readings_of_lots, st.sampled_from(["linear", "log"]))
def test_all_lots_at_once_are_the_lots_one_by_one(several, scale):
    sizes = [sum(map(len, lot)) for lot in several]
    sample = [code for lot in several for code, part in enumerate(lot) for _ in part]
    flat = [reading for lot in several for part in lot for reading in part]

    lots = exact(flat, sample, np.cumsum([0, *sizes[:-1]]), scale)

    for lot, value, spread in zip(several, lots.value, lots.spread, strict=True):
        scaled = [np.log(part) if scale == "log" else np.array(part) for part in lot]
        means = [part.mean() for part in scaled]
        plain = np.mean(means)
        assert value == pytest.approx(np.exp(plain) if scale == "log" else plain)
        expected = np.std(means, ddof=1) if len(means) > 1 else math.nan
        assert spread == pytest.approx(expected, abs=1e-9, nan_ok=True)


def test_the_geometric_mean_of_single_readings_is_that_of_the_textbook():
    readings = np.random.default_rng(5).lognormal(10.0, 0.3, size=12)

    lots = exact(readings, np.arange(12), [0], scale="log")

    assert lots.value == pytest.approx([stats.gmean(readings)])


@pytest.mark.parametrize(
    ("low", "high", "value", "code"),
    [
        (9.95, 10.05, 10.0, 0),
        (35.0, INF, 35.0, 1),
        (0.0, 0.5, 0.5, -1),
        (-INF, 0.5, 0.5, -1),
        (0.2, 0.5, 0.35, 2),
        (0.0, 0.0, 0.0, 0),
    ],
    ids=["rounded", "above range", "below quantification", "open below", "between", "zero"],
)
def test_a_reading_is_a_number_or_a_bound(low, high, value, code):
    lots = charts.lot_values([low], [high], [1], [0], scale="linear")

    assert lots.value == pytest.approx([value])
    assert lots.censored.tolist() == [code]


def test_one_bound_makes_the_whole_lot_a_bound():
    low, high = [30.0, 35.0, 10.0], [30.0, INF, 10.0]

    lots = charts.lot_values(low, high, sample=[1, 2, 1], starts=[0, 2], scale="linear")

    assert lots.censored.tolist() == [1, 0]
    assert lots.value.tolist() == [32.5, 10.0]
    assert lots.censored.dtype == np.int8


def test_bounds_of_both_kinds_leave_a_lot_bounded_on_neither_side():
    lots = charts.lot_values([0.0, 35.0], [0.5, INF], [1, 2], [0], scale="linear")

    assert lots.censored.tolist() == [2]


def test_equal_bounds_are_no_proof_of_equal_samples():
    lots = charts.lot_values([0.0, 0.0], [0.5, 0.5], [1, 2], [0], scale="linear")

    assert np.isnan(lots.spread).all()


def test_a_reading_below_quantification_has_a_logarithm_by_its_bound():
    lots = charts.lot_values([0.0], [0.5], [1], [0], scale="log")

    assert lots.value == pytest.approx([0.5])
    assert lots.censored.tolist() == [-1]


def test_no_lots_have_no_values():
    lots = charts.lot_values([], [], [], [], scale="linear")

    assert lots.value.size == lots.spread.size == lots.samples.size == lots.censored.size == 0


def test_a_zero_on_the_log_scale_is_refused_by_position():
    with pytest.raises(NotPositive) as refusal:
        exact([5.0, 0.0], [1, 2], [0], scale="log")
    assert refusal.value.position == 1


@pytest.mark.parametrize(
    ("low", "high"),
    [(0.0, INF), (-INF, INF), (2.0, 1.0), (math.nan, 1.0), (1.0, math.nan), (INF, INF)],
)
def test_bounds_that_say_nothing_are_refused_by_position(low, high):
    with pytest.raises(InvalidInput, match="reading 1 "):
        charts.lot_values([1.0, low], [1.0, high], [1, 2], [0], scale="linear")


def test_replicates_of_one_sample_must_be_neighbours():
    with pytest.raises(InvalidInput, match="sample 4 of lot 1 comes in parts"):
        exact([1.0, 2.0, 3.0, 4.0], sample=[4, 4, 5, 4], starts=[0, 1])


@pytest.mark.parametrize(
    ("low", "high", "sample", "starts"),
    [
        ([1.0, 2.0], [1.0], [1, 1], [0]),
        ([[1.0]], [[1.0]], [1], [0]),
        ([1.0], [1.0], [1, 1], [0]),
        ([1.0], [1.0], [1], [1]),
        ([1.0], [1.0], [1], []),
        ([1.0, 2.0], [1.0, 2.0], [1, 1], [0, 2]),
    ],
)
def test_columns_that_do_not_fit_together_are_refused(low, high, sample, starts):
    with pytest.raises(InvalidInput):
        charts.lot_values(low, high, sample, starts, scale="linear")


def test_an_unknown_scale_is_refused():
    with pytest.raises(InvalidInput, match="linear"):
        exact([1.0], [1], [0], scale="square root")
