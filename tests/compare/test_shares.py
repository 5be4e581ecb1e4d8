"""What share of a supplier's lots is accepted, and how far that may be trusted."""

import numpy as np
import pytest
from scipy import stats

from spc.compare.between_suppliers.shares import counted_share
from spc.errors import InvalidInput


@pytest.mark.parametrize(("counted", "of"), [(0, 4), (1, 4), (46, 51), (51, 51), (7, 1000)])
@pytest.mark.parametrize("confidence", [0.9, 0.95, 0.99])
def test_the_interval_is_the_exact_one(counted, of, confidence):
    told = counted_share(counted, of, confidence=confidence)

    general = stats.binomtest(counted, of).proportion_ci(confidence, method="exact")
    assert (told.interval.low, told.interval.high) == pytest.approx((general.low, general.high))
    assert told.share == counted / of


def test_with_none_of_n_the_upper_end_has_a_closed_form():
    told = counted_share(0, 10)

    assert told.interval.low == 0.0
    assert told.interval.high == pytest.approx(1.0 - 0.025 ** (1 / 10))


@pytest.mark.parametrize("share", [0.05, 0.3, 0.9])
def test_it_never_holds_less_often_than_it_says(share):
    of = 20
    ends = [counted_share(counted, of).interval for counted in range(of + 1)]
    inside = np.array([end.low <= share <= end.high for end in ends])

    holds = float(inside @ stats.binom.pmf(np.arange(of + 1), of, share))

    assert holds >= 0.95


@pytest.mark.parametrize(("counted", "of"), [(0, 0), (3, 2), (-1, 4)])
def test_what_is_no_share_is_refused(counted, of):
    with pytest.raises(InvalidInput, match="is no share"):
        counted_share(counted, of)
