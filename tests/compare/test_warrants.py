import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from spc import acceptance
from spc.compare.between_methods.corrections import correction
from spc.compare.between_methods.method_comparison import methods
from spc.compare.between_methods.warrants import as_method_figures, warrant
from spc.errors import InvalidInput

GENERATOR = np.random.default_rng(52)
TRUE = np.exp(GENERATOR.uniform(np.log(20_000.0), np.log(80_000.0), 24))
REFERENCE = TRUE * np.exp(GENERATOR.normal(0.0, 0.03, 24))
SENSOR = 0.9 * TRUE * np.exp(GENERATOR.normal(0.0, 0.05, 24))
RAPID = acceptance.Method(
    method="rapid sensor",
    standing="routine",
    screening=True,
    relative=True,
    standard_uncertainty=0.06,
    repeatability=0.05,
)
IN_UNIT = replace(RAPID, relative=False, standard_uncertainty=2_000.0, repeatability=1_500.0)


def ratio(x=REFERENCE, y=SENSOR):
    return correction(methods(x, y, kind="differences", scale="log"))


def line(x=REFERENCE, y=SENSOR):
    return correction(methods(x, y, kind="weighted-deming"))


def lot_mean(method, scale):
    readings = acceptance.Readings(
        characteristic="heat",
        unit="SHU",
        method=method,
        basis="as-is",
        low=np.array([36_000.0, 37_000.0, 35_500.0]),
        high=np.array([36_000.0, 37_000.0, 35_500.0]),
        sample=np.arange(3),
    )
    within = acceptance.Within(sigma=0.05 if scale == "log" else 1_800.0, degrees=20)
    return acceptance.lot_mean(readings, scale=scale, within=within)


def test_a_ratio_set_on_the_method_corrects_a_lot_mean_as_the_correction_does():
    found = ratio()
    figures = as_method_figures(found, RAPID)
    before = lot_mean(RAPID, "log")

    after = lot_mean(
        replace(RAPID, bias=figures.bias, standard_uncertainty=figures.standard_uncertainty), "log"
    )

    corrected = found.apply(before.value, before.uncertainty_in_unit)
    assert after.value == pytest.approx(corrected.value)
    assert after.uncertainty_in_unit == pytest.approx(corrected.uncertainty)
    assert after.uncertainty > before.uncertainty


def test_a_shift_set_on_the_method_does_too():
    found = correction(methods(REFERENCE, SENSOR, kind="differences"))
    figures = as_method_figures(found, IN_UNIT)
    before = lot_mean(IN_UNIT, "linear")

    after = lot_mean(
        replace(IN_UNIT, bias=figures.bias, standard_uncertainty=figures.standard_uncertainty),
        "linear",
    )

    corrected = found.apply(before.value, before.uncertainty)
    assert after.value == pytest.approx(corrected.value)
    assert after.uncertainty == pytest.approx(corrected.uncertainty)


@pytest.mark.parametrize(("method", "scale"), [(RAPID, "log"), (IN_UNIT, "linear")])
def test_a_line_is_set_at_the_value_it_is_wanted_for(method, scale):
    found, before = line(), lot_mean(method, scale)
    figures = as_method_figures(found, method, at=before.value)

    after = lot_mean(
        replace(method, bias=figures.bias, standard_uncertainty=figures.standard_uncertainty),
        scale,
    )

    corrected = found.apply(before.value, before.uncertainty_in_unit)
    assert after.value == pytest.approx(corrected.value, rel=1e-9)
    # The slope that the line gives the reading's own scatter is near 1, but is not it.
    assert after.uncertainty_in_unit == pytest.approx(corrected.uncertainty, rel=0.1)


@pytest.mark.parametrize("method", [RAPID, IN_UNIT])
def test_a_line_needs_a_level_and_so_does_a_ratio_in_unit(method):
    with pytest.raises(InvalidInput, match=r"not the same at every level.*State the reading"):
        as_method_figures(line(), method)


def test_a_ratio_needs_a_level_where_figures_are_in_unit():
    with pytest.raises(InvalidInput, match="a ratio is not the same at every level"):
        as_method_figures(ratio(), IN_UNIT)

    figures = as_method_figures(ratio(), IN_UNIT, at=36_000.0)

    assert figures.bias == pytest.approx(36_000.0 - ratio().apply(36_000.0, 0.0).value)


def test_no_share_is_taken_of_what_is_corrected_below_zero():
    found = replace(line(), offset=5_000.0)

    with pytest.raises(InvalidInput, match="there is no share"):
        as_method_figures(found, RAPID, at=4_000.0)


def test_a_sensor_that_reads_a_tenth_low_warrants_a_correction():
    found = warrant(ratio(), RAPID)

    assert found.warranted
    assert found.p_value < 1e-6
    assert found.interval.high < 0.0
    assert found.share == pytest.approx(abs(found.bias) / (0.06 * found.at))
    assert found.uncorrected_uncertainty == pytest.approx(
        math.hypot(0.06 * found.at, found.bias, ratio().uncertainty_at(found.at))
    )


def test_a_bias_that_is_certain_but_small_is_left_alone():
    """Two per cent, known to three in a thousand, against an uncertainty of eight per cent."""
    y = 0.98 * TRUE * np.exp(GENERATOR.normal(0.0, 0.01, 24))
    found = ratio(TRUE, y)

    decision = warrant(found, replace(RAPID, standard_uncertainty=0.08))

    assert decision.p_value < 0.001
    assert not decision.warranted
    assert warrant(found, replace(RAPID, standard_uncertainty=0.02)).warranted


def test_a_large_bias_that_few_lots_do_not_show_is_left_alone():
    lots = slice(0, 6)
    y = TRUE[lots] * np.exp([0.2, -0.25, 0.3, -0.1, 0.25, -0.2])

    decision = warrant(ratio(TRUE[lots], y), replace(RAPID, standard_uncertainty=0.01))

    assert decision.share > 0.3
    assert decision.p_value > 0.05
    assert not decision.warranted


def test_a_line_that_is_off_at_one_end_only_is_seen_there():
    y = 3_000.0 + 0.96 * TRUE * np.exp(GENERATOR.normal(0.0, 0.01, 24))

    found = warrant(line(TRUE, y), replace(RAPID, standard_uncertainty=0.03))

    assert found.at == y.min()
    assert found.warranted
    assert found.bias == pytest.approx(3_000.0 - 0.04 * TRUE.min(), rel=0.3)


def test_lines_of_methods_that_agree_are_warranted_about_one_time_in_twenty():
    generator = np.random.default_rng(71)
    told = 0
    for _ in range(400):
        true = generator.uniform(20.0, 80.0, 25)
        x, y = true + generator.normal(0, 2.0, 25), true + generator.normal(0, 2.0, 25)
        told += warrant(correction(methods(x, y)), IN_UNIT).p_value < 0.05

    assert told / 400 == pytest.approx(0.05, abs=0.035)


def test_a_shift_is_tested_by_student_s_t():
    found = correction(methods(REFERENCE, SENSOR, kind="differences"))

    expected = stats.ttest_rel(SENSOR, REFERENCE)
    assert warrant(found, IN_UNIT).p_value == pytest.approx(expected.pvalue)


def test_methods_that_never_differ_warrant_nothing_and_a_fixed_factor_everything():
    certain = replace(RAPID, standard_uncertainty=0.0)

    same, doubled = (warrant(ratio(TRUE, y), certain) for y in (TRUE, 2.0 * TRUE))

    assert (same.warranted, same.p_value, same.share) == (False, 1.0, 0.0)
    assert (doubled.warranted, doubled.share) == (True, math.inf)


@pytest.mark.parametrize("options", [{"share": 0.0}, {"confidence": 1.0}])
def test_impossible_settings_are_refused(options):
    with pytest.raises(InvalidInput, match=r"is not between 0 and"):
        warrant(ratio(), RAPID, **options)
