import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spc import units
from spc.errors import UnknownUnit

ALIKE = [
    (one, other)
    for one, other in itertools.product(units.KNOWN, repeat=2)
    if units.measures(one) == units.measures(other)
]


@pytest.mark.parametrize(
    ("unit", "to", "factor"),
    [
        ("mol/L", "µmol/L", 1e6),
        ("µmol/L", "mmol/L", 1e-3),
        ("µg/mL", "mg/L", 1.0),
        ("mg/g", "mg/kg", 1000.0),
        ("g/kg", "mg/g", 1.0),
        ("%", "g/100 g", 1.0),
        ("g/100 g", "g/kg", 10.0),
        ("ppm", "µg/g", 1.0),
        ("ppb", "µg/kg", 1.0),
        ("µg/kg", "mg/kg", 1e-3),
    ],
)
def test_units_of_the_same_kind_have_one_factor_between_them(unit, to, factor):
    assert units.factor(unit, to=to) == pytest.approx(factor, rel=1e-15)


@given(st.sampled_from(ALIKE), st.floats(1e-6, 1e9))
def test_there_and_back_is_the_same_value(pair, value):
    there = value * units.factor(pair[0], to=pair[1])

    assert there * units.factor(pair[1], to=pair[0]) == pytest.approx(value, rel=1e-14)


@given(st.sampled_from(ALIKE), st.sampled_from(units.KNOWN))
def test_a_detour_over_a_third_unit_changes_nothing(pair, third):
    if units.measures(third) != units.measures(pair[0]):
        return
    detour = units.factor(pair[0], to=third) * units.factor(third, to=pair[1])

    assert detour == pytest.approx(units.factor(pair[0], to=pair[1]), rel=1e-14)


def test_heat_and_content_are_no_units_of_the_same_kind():
    with pytest.raises(UnknownUnit, match="conversion to mg/kg") as refusal:
        units.factor("SHU", to="mg/kg")
    assert refusal.value.unit == "SHU"
    assert "µg/g" in str(refusal.value)


@pytest.mark.parametrize("unit", ["mg/Kg", "", "scoville"])
def test_an_unknown_unit_is_refused_by_its_name(unit):
    with pytest.raises(UnknownUnit) as refusal:
        units.measures(unit)
    assert refusal.value.unit == unit


def test_a_unit_nearly_known_is_met_with_the_nearest():
    with pytest.raises(UnknownUnit, match=r"Did you mean .*mg/kg"):
        units.measures("mg/Kg")


@pytest.mark.parametrize(
    ("written", "unit"),
    [
        ("\N{GREEK SMALL LETTER MU}mol/L", "µmol/L"),
        ("uM", "µmol/L"),
        ("\N{GREEK SMALL LETTER MU}M", "µmol/L"),
        ("ug/g", "µg/g"),
        (" g/100  g ", "g/100 g"),
        ("SHU", "SHU"),
        ("bags", "bags"),
    ],
)
def test_a_laboratory_spelling_becomes_the_one_used_here(written, unit):
    assert units.spelled(written) == unit


@given(st.sampled_from(units.KNOWN))
def test_known_units_are_spelled_as_they_are_known(unit):
    assert units.spelled(unit) == unit
