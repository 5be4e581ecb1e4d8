"""A jar of known value, read every morning, tells which sensor batch to distrust."""

import numpy as np
import pytest
from scipy import stats

from spc.compare.between_methods.control_sample import FEWEST_READINGS, control_sample
from spc.errors import InvalidInput, NotPositive

STARTS = np.arange(0, 100, 20)


def jar(*, shift=0.0, seed=1, batches=5, readings=20, sigma=0.05):
    """Readings of a jar of 40 000 SHU; the third batch reads off by `shift`."""
    noise = sigma * np.random.default_rng(seed).standard_normal((batches, readings))
    noise[2] += np.log1p(shift)
    return 40_000.0 * np.exp(noise.ravel())


def test_a_batch_that_reads_eight_percent_low_is_found_and_the_others_are_not():
    judged = control_sample(jar(shift=-0.08), STARTS, assigned=40_000.0, scale="log")

    assert judged.off.tolist() == [False, False, True, False, False]
    assert judged.low[2] < -0.08 < judged.high[2]


def test_one_bad_batch_does_not_widen_the_limits_it_is_judged_by():
    good = control_sample(jar(), STARTS, assigned=40_000.0, scale="log")
    bad = control_sample(jar(shift=0.5), STARTS, assigned=40_000.0, scale="log")

    assert bad.sigma == pytest.approx(good.sigma)
    assert bad.degrees == 95


def test_the_pooled_spread_and_the_interval_are_those_of_an_analysis_of_variance():
    values = jar(shift=-0.08)
    groups = np.log(values).reshape(5, 20)

    judged = control_sample(values, STARTS, assigned=40_000.0, scale="log")

    pooled = np.sqrt(groups.var(axis=1, ddof=1).mean())
    reach = stats.t.ppf(0.975, 95) * pooled / np.sqrt(20)
    assert judged.sigma == pytest.approx(pooled)
    assert np.log1p(judged.high) - np.log1p(judged.deviation) == pytest.approx(np.full(5, reach))


def test_a_steady_method_is_called_off_as_rarely_as_stated():
    called = [
        control_sample(
            jar(seed=seed, batches=20, readings=5), np.arange(0, 100, 5), assigned=4e4, scale="log"
        ).off.mean()
        for seed in range(400)
    ]

    share, error = np.mean(called), np.sqrt(0.0027 / 8000)
    assert abs(share - 0.0027) < 4 * error


def test_an_uncertain_assigned_value_excuses_a_deviation():
    values = jar(shift=-0.08)

    sure = control_sample(values, STARTS, assigned=40_000.0, scale="log")
    unsure = control_sample(
        values, STARTS, assigned=40_000.0, standard_uncertainty=2_000.0, scale="log"
    )

    assert sure.off[2]
    assert not unsure.off[2]


def test_patterns_begin_anew_with_each_batch():
    """Four high readings at the end of one batch and five of the next are no nine on one side."""
    base = [*(99.0, 101.0) * 5, *[101.0] * 4, *[101.0] * 5, *(99.0, 101.0) * 5]

    judged = control_sample(base, [0, 14], assigned=100.0)
    whole = control_sample(base, [0], assigned=100.0)

    assert not judged.signals.any()
    assert whole.signals.any()


def test_too_few_readings_say_nothing_of_a_batch():
    values = np.append(jar(), 60_000.0)

    judged = control_sample(values, [*STARTS, 100], assigned=40_000.0, scale="log")

    assert judged.readings[-1] < FEWEST_READINGS
    assert not judged.enough[-1]
    assert not judged.off[-1]


def test_nothing_signals_before_the_spread_is_known():
    judged = control_sample([100.0, 101.0, 150.0], [0], assigned=100.0)

    assert np.isnan(judged.z).all()
    assert not judged.signals.any()


@pytest.mark.parametrize(
    ("values", "more", "said"),
    [
        ([1.0, 2.0], {"starts": [0, 1]}, "no batch has two readings"),
        ([1.0, np.nan], {}, "position 1"),
        ([1.0, 2.0], {"assigned": -1.0, "scale": "log"}, "cannot be used"),
        ([1.0, 2.0], {"standard_uncertainty": -0.1}, "cannot be used"),
    ],
)
def test_readings_that_cannot_be_judged_are_refused(values, more, said):
    given = {"starts": [0], "assigned": 1.0, **more}
    starts = given.pop("starts")

    with pytest.raises(InvalidInput, match=said):
        control_sample(values, starts, **given)


def test_a_reading_of_zero_has_no_place_on_a_log_scale():
    with pytest.raises(NotPositive):
        control_sample([0.0, 2.0], [0], assigned=1.0, scale="log")
