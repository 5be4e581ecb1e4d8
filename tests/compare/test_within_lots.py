"""Whose bags are uneven: the spread inside a lot, and not that between lots."""

import numpy as np
import pytest
from scipy import stats

from spc.compare.between_suppliers.within_lots import LARGER, within_lots
from spc.errors import InvalidInput


def test_spreads_are_pooled_by_their_degrees_of_freedom():
    told = within_lots([3.0, 1.0, 2.0], [2, 4, 3], ["A", "A", "B"])

    assert told.supplier == ("A", "B")
    assert told.standard_deviation == pytest.approx([np.sqrt((9.0 + 3 * 1.0) / 4), 2.0])
    assert told.degrees.tolist() == [4, 2]
    assert told.lots.tolist() == [2, 1]


def test_the_interval_is_that_of_a_standard_deviation():
    told = within_lots([2.0] * 5, [3] * 5, ["A"] * 5)

    low, high = np.sqrt(10 * 4.0 / stats.chi2.ppf([0.975, 0.025], 10))
    assert told.interval[0] == pytest.approx([low, high])


def test_one_supplier_with_uneven_bags_is_named_and_the_others_are_not():
    spread = np.concatenate([np.full(20, 0.18), np.full(20, 0.06), np.full(20, 0.055)])

    told = within_lots(spread, np.full(60, 5), np.repeat(["C", "A", "B"], 20))

    assert dict(zip(told.supplier, told.uneven, strict=True)) == {"A": False, "B": False, "C": True}


def test_the_test_is_a_one_sided_f_test_at_the_factor_that_matters():
    told = within_lots([2.0, 1.0], [11, 21], ["A", "B"])

    alone = stats.f.sf(4.0 / 1.0 / LARGER**2, 10, 20)
    assert told.p_value[0] == pytest.approx(2 * alone), "one test a supplier"
    assert told.p_value[1] == 1.0


def test_a_difference_that_is_certain_but_small_is_no_reason_to_ask():
    told = within_lots([1.1, 1.0], [4001, 4001], ["A", "B"])

    assert stats.f.sf(1.21, 4000, 4000) < 1e-8
    assert not told.uneven.any()


def test_even_suppliers_are_seldom_called_uneven():
    generator = np.random.default_rng(7)
    supplier = np.repeat([f"S{one}" for one in range(5)], 12)
    called = sum(
        within_lots(np.sqrt(generator.chisquare(4, 60) / 4), np.full(60, 5), supplier).uneven.any()
        for _ in range(400)
    )

    assert called <= 2


def test_lots_of_one_sample_say_nothing():
    told = within_lots([np.nan, 0.1], [1, 3], ["A", "B"])

    assert np.isnan(told.standard_deviation[0])
    assert np.isnan(told.interval[0]).all()
    assert told.standard_deviation[1] == pytest.approx(0.1)
    assert not told.uneven.any()


def test_samples_that_are_all_alike_are_compared_with_nothing():
    told = within_lots([0.0, 0.0], [3, 3], ["A", "B"])

    assert told.standard_deviation.tolist() == [0.0, 0.0]
    assert not told.uneven.any()


@pytest.mark.parametrize(
    ("spread", "samples", "said"),
    [([0.1], [2, 2], "differ in length"), ([-0.1, 0.1], [2, 2], "below zero or infinite")],
)
def test_spreads_that_cannot_be_are_refused(spread, samples, said):
    with pytest.raises(InvalidInput, match=said):
        within_lots(spread, samples, ["A", "B"][: len(spread)])
