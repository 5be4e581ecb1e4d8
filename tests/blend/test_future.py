"""What suppliers can hold: the next lots are drawn from what their last ones were."""

import math

import numpy as np
import pytest
from scipy import stats

from spc.blend.outlook.future import FutureStream, future_blends
from spc.errors import InvalidInput, TooFewLots


def stream(name="Hot", heat=60_000.0, sigma=0.1, lots=30, share=1.0):
    return FutureStream(name=name, mean=math.log(heat), sigma=sigma, lots=lots, share=share)


def test_one_stream_alone_is_its_prediction_interval():
    scale = 0.1 * math.sqrt(1 + 1 / 30)
    reach = math.exp(stats.t.ppf(0.95, 29) * scale)

    found = future_blends([stream()], lower=60_000 / reach, upper=60_000 * reach)

    assert found.kept == pytest.approx(0.90, abs=4 * found.kept_error)
    assert (found.low, found.high) == pytest.approx((60_000 / reach, 60_000 * reach), rel=0.02)


def test_mixing_two_streams_anew_holds_what_a_kept_recipe_cannot():
    pair = [stream(share=0.5), stream("Mild", 30_000.0, share=0.5)]

    found = future_blends(pair, lower=43_000.0, upper=47_000.0)

    assert found.kept < 0.6
    assert found.adjusted > 0.95


def test_the_error_of_the_method_is_not_mixed_away():
    pair = [stream(share=0.5), stream("Mild", 30_000.0, share=0.5)]
    lower, upper = 45_000 / 1.05, 45_000 * 1.05

    found = future_blends(pair, lower=lower, upper=upper, method_uncertainty=0.05)

    expected = 2 * stats.norm.cdf(math.log(1.05) / 0.05) - 1
    assert found.adjusted == pytest.approx(expected, abs=0.02)


def test_few_lots_widen_what_is_expected():
    many, few = (future_blends([stream(lots=n)], lower=5e4, upper=7e4) for n in (200, 5))

    assert few.kept < many.kept
    assert few.high > many.high


def test_the_same_seed_draws_the_same_blends():
    first, second = (future_blends([stream()], lower=5e4, upper=7e4) for _ in range(2))

    assert first == second
    assert np.isfinite(first.kept_error)


@pytest.mark.parametrize(
    ("streams", "window", "kind", "said"),
    [
        ([stream(lots=4)], (1.0, 2.0), TooFewLots, "needs at least 5"),
        ([stream(share=0.5)], (1.0, 2.0), InvalidInput, "add up to 0.5"),
        ([stream(sigma=-1.0)], (1.0, 2.0), InvalidInput, "sigma -1"),
        ([stream()], (2.0, 1.0), InvalidInput, "is none"),
    ],
)
def test_what_cannot_be_drawn_is_refused(streams, window, kind, said):
    with pytest.raises(kind, match=said):
        future_blends(streams, lower=window[0], upper=window[1])


def test_a_stream_is_told_by_the_logarithms_of_its_lots():
    lots = [30_000.0, 40_000.0, 50_000.0]

    told = FutureStream.of("Alder", lots, share=0.4, log_shift=0.02)

    assert told.mean == pytest.approx(np.log(stats.gmean(lots)) + 0.02)
    assert np.exp(told.sigma) == pytest.approx(stats.gstd(lots))
    assert (told.lots, told.share) == (3, 0.4)
    assert FutureStream.of("Birch", [], share=1.0).lots == 0
