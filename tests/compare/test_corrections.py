import json
import math
from dataclasses import asdict

import numpy as np
import pytest

from spc.compare.between_methods.corrections import Correction, correction
from spc.compare.between_methods.method_comparison import methods
from spc.errors import InvalidInput, TooFewLots

GENERATOR = np.random.default_rng(52)
TRUE = np.exp(GENERATOR.uniform(np.log(20_000.0), np.log(80_000.0), 24))
REFERENCE = TRUE * np.exp(GENERATOR.normal(0.0, 0.03, 24))
SENSOR = 0.9 * TRUE * np.exp(GENERATOR.normal(0.0, 0.05, 24))


def ratio(**options):
    return correction(methods(REFERENCE, SENSOR, kind="differences", scale="log"), **options)


def shift(**options):
    return correction(methods(REFERENCE, SENSOR, kind="differences"), **options)


def line(kind="weighted-deming", **options):
    return correction(methods(REFERENCE, SENSOR, kind=kind), **options)


def test_a_ratio_divides_and_joins_its_uncertainty_as_shares_do():
    found = ratio()

    corrected = found.apply(36_000.0, 1_800.0)

    logs = np.log(SENSOR / REFERENCE)
    assert found.kind == "ratio"
    assert found.slope == pytest.approx(np.exp(logs.mean()))
    assert corrected.value == pytest.approx(36_000.0 / found.slope)
    share = math.hypot(0.05, logs.std(ddof=1) / math.sqrt(24))
    assert corrected.uncertainty == pytest.approx(corrected.value * share)


def test_a_shift_is_taken_off_and_joins_its_uncertainty_in_unit():
    found = shift()

    corrected = found.apply(36_000.0, 1_800.0)

    apart = SENSOR - REFERENCE
    assert (found.kind, found.slope, found.slope_variance) == ("shift", 1.0, 0.0)
    assert corrected.value == pytest.approx(36_000.0 - apart.mean())
    assert corrected.uncertainty == pytest.approx(
        math.hypot(1_800.0, apart.std(ddof=1) / math.sqrt(24))
    )


def test_a_line_is_turned_round_with_the_covariance_of_its_ends():
    """First-order propagation, done numerically from the same covariance."""
    comparison = methods(REFERENCE, SENSOR, kind="weighted-deming")
    found = correction(comparison)

    corrected = found.apply(36_000.0, 1_800.0)

    fitted = comparison.line
    step = np.array([1e-3 * fitted.intercept_error, 1e-3 * fitted.slope_error])
    at = np.array([fitted.intercept, fitted.slope])
    slopes = [
        (36_000.0 - high[0]) / high[1] - (36_000.0 - low[0]) / low[1]
        for high, low in ((at + move, at - move) for move in np.diag(step))
    ] / (2.0 * step)
    spread = np.array(
        [
            [fitted.intercept_error**2, fitted.covariance],
            [fitted.covariance, fitted.slope_error**2],
        ]
    )
    own = slopes @ spread @ slopes
    assert corrected.value == pytest.approx((36_000.0 - at[0]) / at[1])
    assert corrected.uncertainty == pytest.approx(math.sqrt((1_800.0 / at[1]) ** 2 + own), rel=1e-5)


def test_corrected_values_miss_the_truth_by_what_their_uncertainty_says():
    """A new lot each time, corrected by a comparison of 20 lots each time."""
    generator = np.random.default_rng(5)
    missed = []
    for _ in range(300):
        true = generator.uniform(20.0, 80.0, 21)
        x, y = true + generator.normal(0, 1.0, 21), 3.0 + 0.8 * true + generator.normal(0, 1.0, 21)
        found = correction(methods(x[:20], y[:20]))
        corrected = found.apply(y[20], 1.0)
        missed.append((corrected.value - true[20]) / corrected.uncertainty)

    assert np.mean(missed) == pytest.approx(0.0, abs=0.18)
    assert np.std(missed) == pytest.approx(1.0, abs=0.13)


@pytest.mark.parametrize("make", [ratio, shift, line])
def test_a_correction_is_stored_as_plain_numbers_and_read_back_the_same(make):
    found = make()

    stored = json.loads(json.dumps(asdict(found)))

    assert Correction(**stored) == found
    assert all(isinstance(value, str | float | int) for value in stored.values())


def test_values_beyond_the_lots_compared_are_marked():
    found = ratio()

    assert found.apply(SENSOR.max(), 0.0).within_range
    assert found.apply(SENSOR.min(), 0.0).within_range
    assert not found.apply(SENSOR.max() * 1.01, 0.0).within_range
    assert not found.apply(SENSOR.min() * 0.99, 0.0).within_range


def test_what_the_reference_does_not_know_of_itself_is_handed_on():
    plain, doubted = ratio(), ratio(reference_uncertainty=0.04)

    share = doubted.uncertainty_at(36_000.0) / (36_000.0 / doubted.slope)
    own = plain.uncertainty_at(36_000.0) / (36_000.0 / plain.slope)
    assert share == pytest.approx(math.hypot(own, 0.04))
    assert shift(reference_uncertainty=500.0).uncertainty_at(36_000.0) == pytest.approx(
        math.hypot(shift().uncertainty_at(36_000.0), 500.0)
    )
    assert line(reference_uncertainty=0.04).uncertainty_at(60_000.0) == pytest.approx(
        math.hypot(
            line().uncertainty_at(60_000.0),
            0.04 * (60_000.0 - line().offset) / line().slope,
        )
    )


def test_degrees_of_freedom_are_lots_less_what_was_fitted():
    assert (ratio().degrees_of_freedom, line().degrees_of_freedom) == (23, 22)


def test_a_line_without_standard_errors_corrects_nothing():
    with pytest.raises(InvalidInput, match="no standard errors to hand on"):
        line("passing-bablok")


def test_a_power_is_no_correction_in_unit():
    with pytest.raises(InvalidInput, match="is a power"):
        correction(methods(REFERENCE, SENSOR, scale="log"))


def test_five_lots_correct_nothing():
    with pytest.raises(TooFewLots, match="at least 6 lots, but 5"):
        correction(methods(REFERENCE[:5], SENSOR[:5], kind="differences"))


def test_a_falling_line_corrects_nothing():
    with pytest.raises(InvalidInput, match="corrects nothing"):
        correction(methods(REFERENCE, -SENSOR))


@pytest.mark.parametrize("shared", [-0.1, math.nan, math.inf])
def test_an_impossible_reference_uncertainty_is_refused(shared):
    with pytest.raises(InvalidInput, match="reference uncertainty"):
        ratio(reference_uncertainty=shared)


@pytest.mark.parametrize(("value", "uncertainty"), [(math.nan, 1.0), (1.0, -1.0), (1.0, math.nan)])
def test_a_value_that_is_none_is_not_corrected(value, uncertainty):
    with pytest.raises(InvalidInput, match="cannot be corrected"):
        ratio().apply(value, uncertainty)
