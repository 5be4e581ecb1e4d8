import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from spc import heat
from spc.errors import InvalidInput, MissingFactor, UnknownUnit

EXTRACT = (10.0, 0.1)
readings = st.floats(0.5, 35.0)
dilutions = st.sampled_from([1.0, 2.0, 5.0, 10.0, 25.0])
portions = st.floats(0.05, 2.0)


def names(chain):
    return [step.name for step in chain.steps]


@given(readings, dilutions, portions, st.sampled_from(sorted(heat.MOLAR_MASS)))
def test_a_cell_reading_is_found_again_by_going_back_step_by_step(
    reading, second, portion, compound
):
    shu = heat.chain(
        reading,
        unit="µmol/L",
        factor=16.1,
        cell_dilution=second,
        extract=(10.0, portion),
        compound=compound,
    ).value

    extract = heat.extract_molarity(
        shu / 16.1, volume_mL=10.0, mass_g=portion, molar_mass=heat.MOLAR_MASS[compound]
    )
    assert 1e6 * extract / second == pytest.approx(reading, rel=1e-12)


@given(st.lists(st.tuples(readings, dilutions, portions), min_size=1, max_size=8))
def test_many_readings_at_once_are_the_readings_one_by_one(rows):
    reading, second, portion = (np.array(column) for column in zip(*rows, strict=True))

    at_once = heat.chain(
        reading, unit="µmol/L", cell_dilution=second, extract=(np.full(len(rows), 10.0), portion)
    )

    one_by_one = [
        heat.chain(r, unit="µmol/L", cell_dilution=d, extract=(10.0, p)) for r, d, p in rows
    ]
    assert at_once.value.tolist() == [float(one.value) for one in one_by_one]
    assert names(at_once) == names(one_by_one[0])


def test_a_dilution_of_its_own_for_each_reading_is_not_printed_as_one_number():
    worked = heat.chain(
        [5.0, 6.0], unit="µmol/L", cell_dilution=[1.0, 10.0], extract=([10.0, 10.0], [0.1, 0.2])
    )

    assert worked.steps[2].formula == "× its own (dilution in the cell)"
    assert worked.steps[3].formula == "× its own mL / its own g (extract dilution)"


@pytest.mark.parametrize(
    ("unit", "expected"),
    [
        ("mol/L", 305.418e3 * 100 * 16),
        ("mmol/L", 305.418 * 100 * 16),
        ("mg/L", 100 * 16),
        ("µg/mL", 100 * 16),
    ],
)
def test_every_unit_of_a_cell_leads_to_heat(unit, expected):
    worked = heat.chain(1.0, unit=unit, cell_dilution=1.0, extract=EXTRACT)

    assert worked.value == pytest.approx(expected)
    assert names(worked) == ["reading", "in the cell", "in the extract", "content", "heat"]


def test_a_content_in_mg_per_kg_needs_no_conversion():
    worked = heat.chain(2500.0, unit="mg/kg", factor=15.0)

    assert names(worked) == ["reading", "heat"]
    assert worked.steps[1].formula == "× 15 SHU per mg/kg"
    assert worked.value == 37_500.0


@pytest.mark.parametrize(("unit", "size"), [("mg/g", 1e3), ("%", 1e4), ("µg/g", 1.0)])
def test_any_other_content_is_shown_in_mg_per_kg_on_the_way(unit, size):
    worked = heat.chain(2.0, unit=unit)

    assert names(worked) == ["reading", "content", "heat"]
    assert worked.steps[1].formula == f"reading × {size:g}"
    assert worked.value == pytest.approx(2.0 * size * 16.0)


def test_heat_is_taken_as_it_is_given():
    worked = heat.chain(42_000.0, unit="SHU")

    assert names(worked) == ["reading"]
    assert worked.value == 42_000.0


def test_pungency_units_are_multiplied_by_their_own_factor():
    worked = heat.chain(2500.0, unit="pungency units", factor=heat.PUNGENCY_FACTOR)

    assert worked.steps[-1].formula == "× 15 SHU per pungency unit"
    assert worked.value == 37_500.0


def test_a_profile_shows_what_each_compound_brings():
    worked = heat.profile_chain({"capsaicin": 1.0, "nordihydrocapsaicin": 0.5}, unit="mg/g")

    assert names(worked) == ["capsaicin", "nordihydrocapsaicin", "heat"]
    assert [float(step.value) for step in worked.steps] == pytest.approx(
        [16_100.0, 4_650.0, 20_750.0]
    )
    assert {step.unit for step in worked.steps} == {"SHU"}
    assert worked.steps[1].formula == "content × 9.3 SHU per mg/kg"


def test_a_dilution_in_the_cell_is_never_assumed():
    with pytest.raises(MissingFactor, match="the dilution in the cell") as refusal:
        heat.chain(5.0, unit="µmol/L", extract=EXTRACT)
    assert "1 if there was none" in refusal.value.factor


class TestRefusals:
    @pytest.mark.parametrize("unit", ["µmol/L", "mg/L"])
    def test_a_cell_without_its_extract(self, unit):
        with pytest.raises(MissingFactor, match="volume in mL and mass in g"):
            heat.chain(5.0, unit=unit, cell_dilution=1.0)

    @pytest.mark.parametrize(
        ("second", "extract", "named"),
        [
            (0.0, EXTRACT, "cell_dilution 0"),
            (-1.0, EXTRACT, "cell_dilution -1"),
            (1.0, (0.0, 0.1), "volume_mL 0"),
            (1.0, (10.0, 0.0), "mass_g 0"),
        ],
    )
    def test_a_dilution_that_cannot_be(self, second, extract, named):
        with pytest.raises(InvalidInput, match=named):
            heat.chain(5.0, unit="µmol/L", cell_dilution=second, extract=extract)

    def test_a_molarity_of_a_compound_without_molar_mass(self):
        with pytest.raises(MissingFactor, match="the molar mass of piperine"):
            heat.chain(5.0, unit="µmol/L", cell_dilution=1.0, extract=EXTRACT, compound="piperine")

    def test_a_unit_that_nobody_knows(self):
        with pytest.raises(UnknownUnit, match="'Scoville'"):
            heat.chain(5.0, unit="Scoville")

    def test_a_unit_that_is_known_but_does_not_lead_to_heat(self):
        with pytest.raises(UnknownUnit, match="ASTA units"):
            heat.chain(120.0, unit="ASTA units")

    def test_a_profile_in_a_unit_that_is_no_content(self):
        with pytest.raises(UnknownUnit, match="'SHU'"):
            heat.profile_chain({"capsaicin": 1.0}, unit="SHU")

    def test_a_profile_with_a_compound_without_factor(self):
        with pytest.raises(MissingFactor, match="nonivamide"):
            heat.profile_chain({"nonivamide": 1.0}, unit="mg/kg")
