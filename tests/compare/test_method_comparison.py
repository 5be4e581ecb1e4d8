import numpy as np
import pytest

from spc.compare.between_methods.method_comparison import methods
from spc.errors import InvalidInput, NoSpread, NotPositive, TooFewLots

GENERATOR = np.random.default_rng(41)
TRUE = np.exp(GENERATOR.uniform(np.log(5_000.0), np.log(90_000.0), 30))
REFERENCE = TRUE * np.exp(GENERATOR.normal(0.0, 0.02, 30))
SENSOR = 0.93 * TRUE * np.exp(GENERATOR.normal(0.0, 0.04, 30))
KINDS = ["deming", "weighted-deming", "passing-bablok", "differences"]


@pytest.mark.parametrize("kind", KINDS[:3])
def test_a_sensor_that_reads_seven_percent_low_is_found_by_every_line(kind):
    found = methods(REFERENCE, SENSOR, kind=kind, variance_ratio=4.0 * 0.93**2)

    assert found.slope == pytest.approx(0.93, abs=0.03)
    assert found.line.slope_interval.high < 1.0
    assert found.doubts == ()


def test_on_log_scale_a_constant_factor_is_a_shift_of_logarithms():
    found = methods(REFERENCE, SENSOR, kind="differences", scale="log")

    assert np.exp(found.intercept) == pytest.approx(0.93, abs=0.02)
    assert found.slope == 1.0
    assert found.line.intercept_interval == found.agreement.bias_interval
    assert found.line.intercept_error == pytest.approx(found.agreement.sd / np.sqrt(30))
    assert found.residual_sd == pytest.approx(found.agreement.sd)
    assert found.difference == pytest.approx(np.log(SENSOR / REFERENCE))


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_tells_the_same_differences(kind):
    found = methods(REFERENCE, SENSOR, kind=kind)

    assert found.agreement.bias == pytest.approx(np.mean(SENSOR - REFERENCE))
    assert found.middle == pytest.approx((SENSOR + REFERENCE) / 2.0)
    assert (found.lowest, found.highest) == (SENSOR.min(), SENSOR.max())
    assert found.lots == 30


@pytest.mark.parametrize("kind", KINDS)
def test_the_order_of_the_lots_does_not_matter(kind):
    order = np.random.default_rng(0).permutation(30)

    found, mixed = (
        methods(REFERENCE, SENSOR, kind=kind),
        methods(REFERENCE[order], SENSOR[order], kind=kind),
    )

    assert mixed.slope == pytest.approx(found.slope, rel=1e-9)
    assert mixed.linearity.p_value == pytest.approx(found.linearity.p_value)


def test_scatter_about_a_weighted_line_is_told_as_a_share():
    found = methods(REFERENCE, SENSOR, kind="weighted-deming")

    assert found.residual_sd == pytest.approx(np.hypot(0.02, 0.04), rel=0.3)


def test_a_proportional_bias_is_doubted_where_one_shift_is_fitted():
    found = methods(REFERENCE, SENSOR, kind="differences")

    assert found.proportional is not None
    assert found.proportional.p_value < 0.001
    assert found.doubts == ("differences grow",)


def test_a_few_lots_of_one_material_make_no_line():
    """Heat that differs by a tenth, measured to a twentieth."""
    generator = np.random.default_rng(6)
    true = 42_000.0 * np.exp(generator.normal(0.0, 0.1, 12))
    x, y = (true * np.exp(generator.normal(0.0, 0.05, 12)) for _ in range(2))

    assert methods(x, y).doubts == ("few lots", "narrow range")


@pytest.mark.parametrize(
    ("x", "y", "options", "error", "words"),
    [
        ([1.0, 2.0], [1.0, 2.0], {}, TooFewLots, "at least 5 lots"),
        ([1.0, 2.0, 3.0, 4.0, 5.0], [1.0, 2.0], {}, InvalidInput, "x has 5 lots and y 2"),
        ([1.0] * 5, [1.0, 2.0, 3.0, 4.0, 5.0], {}, NoSpread, "all 5 values are 1"),
        ([1.0, 2.0, 3.0, 4.0, np.nan], [1.0, 2.0, 3.0, 4.0, 5.0], {}, InvalidInput, "position 4"),
        ([0.0, 2.0, 3.0, 4.0, 5.0], [1.0, 2.0, 3.0, 4.0, 5.0], {"scale": "log"}, NotPositive, "0"),
        (
            [-1.0, 2.0, 3.0, 4.0, 5.0],
            [1.0, 2.0, 3.0, 4.0, 5.0],
            {"kind": "weighted-deming"},
            NotPositive,
            "-1",
        ),
        (
            [1.0, 2.0, 3.0, 4.0, 5.0],
            [1.0, 2.0, 3.0, 4.0, 5.1],
            {"kind": "York"},
            InvalidInput,
            "York",
        ),
        ([1.0, 2.0, 3.0, 4.0, 5.0], [1.0, 2.0, 3.0, 4.0, 5.1], {"scale": "dB"}, InvalidInput, "dB"),
        (
            [1.0, 2.0, 3.0, 4.0, 5.0],
            [1.0, 2.0, 3.0, 4.0, 5.1],
            {"scale": "log", "kind": "weighted-deming"},
            InvalidInput,
            "constant already",
        ),
        (
            [1.0, 2.0, 3.0, 4.0, 5.0],
            [1.0, 2.0, 3.0, 4.0, 5.1],
            {"variance_ratio": 0.0},
            InvalidInput,
            "variance ratio 0",
        ),
        (
            [1.0, 2.0, 3.0, 4.0, 5.0],
            [1.0, 2.0, 3.0, 4.0, 5.1],
            {"confidence": 1.0},
            InvalidInput,
            "confidence 1",
        ),
    ],
)
def test_what_cannot_be_compared_is_refused_in_words(x, y, options, error, words):
    with pytest.raises(error, match=words):
        methods(x, y, **options)
