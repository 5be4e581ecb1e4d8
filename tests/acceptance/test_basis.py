import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spc.acceptance import on_basis


def brought(readings, basis, *, moisture):
    converted = on_basis(readings, basis, moisture=moisture)
    assert converted is not None
    return converted


@pytest.fixture(scope="session")
def water(mean):
    """Moisture of a lot, g/100 g, with a standard uncertainty in that unit."""

    def make(value, uncertainty=0.2):
        return mean(value, uncertainty, scale="linear", characteristic="moisture", unit="g/100 g")

    return make


@pytest.mark.parametrize(
    ("basis", "line", "expected"), [("as-is", "dry", 44_444.4), ("dry", "as-is", 36_000.0)]
)
def test_readings_are_brought_to_the_basis_of_the_line(readings, water, basis, line, expected):
    converted = brought(readings(40_000.0, basis=basis), line, moisture=water(10.0))

    assert converted.basis == line
    assert converted.low == pytest.approx([expected], rel=1e-5)
    assert converted.high == pytest.approx([expected], rel=1e-5)


def test_open_ends_stay_open(readings, water):
    open_ended = readings(low=[0.0, 9_000.0], high=[4_500.0, math.inf])

    converted = brought(open_ended, "dry", moisture=water(10.0))

    assert converted.low == pytest.approx([0.0, 10_000.0])
    assert converted.high == pytest.approx([5_000.0, math.inf])


@pytest.mark.parametrize(("basis", "line"), [("as-is", "as-is"), ("dry", "dry"), ("dry", "")])
def test_nothing_is_converted_where_nothing_need_be(readings, basis, line):
    given_ones = readings(40_000.0, basis=basis)

    assert on_basis(given_ones, line, moisture=None) is given_ones


@pytest.mark.parametrize("basis", ["unstated", ""])
def test_an_unstated_basis_cannot_be_left(readings, water, basis):
    assert on_basis(readings(40_000.0, basis=basis), "dry", moisture=water(10.0)) is None


def test_without_moisture_there_is_no_other_basis(readings):
    assert on_basis(readings(40_000.0), "dry", moisture=None) is None


@pytest.mark.parametrize("moisture", [100.0, 120.0, -1.0])
def test_an_impossible_moisture_is_as_good_as_none(readings, water, moisture):
    assert on_basis(readings(40_000.0), "dry", moisture=water(moisture)) is None


def test_the_moisture_makes_a_relative_method_less_certain(readings, water):
    """The dry share is 90 ± 1.8 g/100 g, 2 %; with the method's 2.5 % in squares 3.2 %."""
    converted = brought(readings(40_000.0), "dry", moisture=water(10.0, 1.8))

    assert converted.method.standard_uncertainty == pytest.approx(math.hypot(0.025, 0.02))
    assert converted.method.repeatability == 0.02


def test_the_moisture_makes_an_absolute_method_less_certain_too(readings, water):
    """300 SHU of 36 000 become 333 of 40 000 dry, and 2 % of these join them."""
    method = replace(
        readings(1.0).method, relative=False, standard_uncertainty=300.0, repeatability=90.0
    )

    converted = brought(readings(36_000.0, method=method), "dry", moisture=water(10.0, 1.8))

    assert converted.method.standard_uncertainty == pytest.approx(
        math.hypot(300.0 / 0.9, 0.02 * 40_000.0)
    )
    assert converted.method.repeatability == pytest.approx(100.0)


def test_an_absolute_method_above_its_range_is_as_uncertain_as_at_its_known_end(readings, water):
    method = replace(readings(1.0).method, relative=False, standard_uncertainty=0.0)
    above = readings(low=[36_000.0], high=[math.inf], method=method)

    converted = brought(above, "dry", moisture=water(10.0, 1.8))

    assert converted.method.standard_uncertainty == pytest.approx(0.02 * 40_000.0)


@given(st.floats(1.0, 1e6), st.floats(0.0, 80.0), st.floats(0.0, 3.0), st.booleans())
def test_a_conversion_never_makes_a_result_look_better_known(
    readings, water, value, moisture, uncertainty, relative
):
    method = replace(
        readings(1.0).method,
        relative=relative,
        standard_uncertainty=0.03 if relative else 0.03 * value,
    )
    own = readings(value, method=method)

    converted = brought(own, "dry", moisture=water(moisture, uncertainty))

    before = method.on_scale(method.standard_uncertainty, scale="log", at=value)
    after = converted.method.on_scale(
        converted.method.standard_uncertainty, scale="log", at=converted.low[0]
    )
    assert after >= before - 1e-12
