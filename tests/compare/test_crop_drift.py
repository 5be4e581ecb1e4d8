"""Has the supplier moved with the new crop, and is he still moving?"""

import numpy as np
import pytest
from scipy import stats

from spc.compare.between_suppliers.crop_drift import crop_drift
from spc.errors import InvalidInput

OLD = 40_000.0 * np.exp(0.05 * np.random.default_rng(3).standard_normal(20))
RISING = 40_000.0 * 1.04 ** np.arange(1, 10)
YEARS = np.repeat([2024.0, 2025.0, 2026.0], [10, 10, 9])


def test_a_crop_that_rises_four_percent_a_lot_is_seen_to_move_and_to_go_on_moving():
    found = crop_drift(np.append(OLD, RISING), YEARS, scale="log")

    assert (found.crop, found.lots, found.before) == (2026, 9, 20)
    assert found.per_lot == pytest.approx(0.04)
    assert found.interval.low > 0.1
    assert found.p_value < 0.001


def test_the_comparison_is_welch_s():
    values = np.append(OLD, RISING)
    logs = np.log(values)

    found = crop_drift(values, YEARS, scale="log")
    welch = stats.ttest_ind(logs[20:], logs[:20], equal_var=False)

    assert found.p_value == pytest.approx(welch.pvalue)
    assert np.log1p(found.interval.low) == pytest.approx(welch.confidence_interval().low)


def test_two_lots_of_a_new_crop_say_nothing():
    found = crop_drift([*OLD, 50_000.0, 51_000.0], [*YEARS[:20], 2026, 2026], scale="log")

    assert not found.enough
    assert np.isnan([found.change, found.per_lot, found.p_value]).all()


def test_a_lot_without_a_crop_year_is_left_out():
    found = crop_drift([*OLD, *RISING, 1.0], [*YEARS, np.nan])

    assert (found.lots, found.before) == (9, 20)


@pytest.mark.parametrize(
    ("values", "years", "said"),
    [
        ([1.0, 2.0], [2025.0], "differ in length"),
        ([1.0, 2.0], [np.nan, np.nan], "no lot has a crop year"),
        ([1.0, np.nan], [2025.0, 2026.0], "position 1"),
    ],
)
def test_lots_that_cannot_be_compared_are_refused(values, years, said):
    with pytest.raises(InvalidInput, match=said):
        crop_drift(values, years)
