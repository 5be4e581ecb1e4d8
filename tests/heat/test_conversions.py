import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from spc import heat
from spc.errors import InvalidInput, MissingFactor

contents = st.floats(1.0, 60_000.0)
volumes = st.floats(0.5, 500.0)
masses = st.floats(0.01, 50.0)
moistures = st.floats(0.0, 95.0)
compounds = st.sampled_from(sorted(heat.MOLAR_MASS))


def test_a_mole_of_capsaicin_in_a_litre_from_a_kilogram_is_its_molar_mass():
    content = heat.mass_fraction(1.0, volume_mL=1000.0, mass_g=1000.0)

    assert content == pytest.approx(305.418e3)


def test_a_tenth_of_a_gram_in_ten_millilitres_is_a_dilution_of_one_hundred():
    """1 µmol/L of capsaicin is 0.305 mg/L, and 100 mL/g make 30.5 mg/kg of it."""
    assert heat.mass_fraction(1e-6, volume_mL=10.0, mass_g=0.1) == pytest.approx(30.5418)


@given(contents, volumes, masses, compounds)
def test_the_molarity_of_an_extract_leads_back_to_the_content(content, volume, mass, compound):
    around = {"volume_mL": volume, "mass_g": mass, "molar_mass": heat.MOLAR_MASS[compound]}

    molarity = heat.extract_molarity(content, **around)

    assert heat.mass_fraction(molarity, **around) == pytest.approx(content, rel=1e-12)


@given(contents, moistures)
def test_dry_and_back_is_as_is(value, moisture):
    assert heat.as_is_basis(heat.dry_basis(value, moisture), moisture) == pytest.approx(value)


@given(contents, moistures, moistures)
def test_the_wetter_a_powder_the_less_heat_it_shows_as_is(dry, one, other):
    drier, wetter = sorted((one, other))

    assert heat.as_is_basis(dry, wetter) <= heat.as_is_basis(dry, drier)


def test_water_alone_takes_4_3_per_cent_of_the_heat_between_8_and_12_g_per_100_g():
    dry = heat.dry_basis(40_000.0, 8.0)

    assert heat.as_is_basis(dry, 12.0) / 40_000.0 - 1.0 == pytest.approx(-0.0435, abs=5e-5)


def test_a_water_free_powder_is_the_same_on_both_bases():
    assert heat.dry_basis(40_000.0, 0.0) == heat.as_is_basis(40_000.0, 0.0) == 40_000.0


def test_lots_are_converted_all_at_once_each_with_its_own_moisture():
    dry = heat.dry_basis([9_000.0, 8_000.0], [10.0, 20.0])

    assert dry == pytest.approx([10_000.0, 10_000.0])


@pytest.mark.parametrize("factor", [15.0, 16.0, 16.1])
def test_heat_is_proportional_to_a_total(factor):
    assert heat.scoville([0.0, 1.0, 2500.0], factor=factor) == pytest.approx(
        [0.0, factor, 2500.0 * factor]
    )


def test_a_total_is_taken_by_16_unless_the_method_says_otherwise():
    assert heat.scoville(1000.0) == 16_000.0


def test_a_profile_weighs_each_compound_by_its_own_factor():
    shu = heat.scoville_profile(
        {"capsaicin": 1000.0, "dihydrocapsaicin": 500.0, "nordihydrocapsaicin": 100.0}
    )

    assert shu == pytest.approx(16_100.0 + 8_050.0 + 930.0)


def test_a_profile_may_bring_its_own_factors():
    shu = heat.scoville_profile({"nonivamide": [10.0, 20.0]}, factors={"nonivamide": 9.2})

    assert shu == pytest.approx([92.0, 184.0])


@given(contents, contents)
def test_pungency_units_lie_13_5_per_cent_below_the_sum_at_six_to_four(capsaicin, scale):
    """C:DHC 6:4 by units of 15 against 16.1 on the sum, whatever the amount."""
    parts = 0.6 * scale, 0.4 * scale

    units = heat.PUNGENCY_FACTOR * heat.pungency_units(*parts)

    assert units / heat.scoville(scale, factor=16.1) - 1.0 == pytest.approx(-0.135, abs=5e-4)
    assert heat.pungency_units(capsaicin, 0.0) == capsaicin


def test_a_gap_stays_a_gap():
    assert np.isnan(heat.dry_basis(40_000.0, np.nan))
    assert np.isnan(heat.mass_fraction(1e-6, volume_mL=np.nan, mass_g=0.1))


class TestRefusals:
    @pytest.mark.parametrize("convert", [heat.dry_basis, heat.as_is_basis])
    @pytest.mark.parametrize("moisture", [100.0, 130.0, -0.1, [9.0, 100.0]])
    def test_a_moisture_that_leaves_no_pepper(self, convert, moisture):
        with pytest.raises(InvalidInput, match="g/100 g is not possible"):
            convert(40_000.0, moisture)

    @pytest.mark.parametrize("convert", [heat.mass_fraction, heat.extract_molarity])
    @pytest.mark.parametrize(
        ("volume", "mass", "named"),
        [(10.0, 0.0, "mass_g 0"), (0.0, 0.1, "volume_mL 0"), (10.0, [0.1, -0.1], "mass_g -0.1")],
    )
    def test_an_extract_without_mass_or_volume(self, convert, volume, mass, named):
        with pytest.raises(InvalidInput, match=named):
            convert(1.0, volume_mL=volume, mass_g=mass)

    def test_a_compound_without_a_factor_by_its_name(self):
        with pytest.raises(MissingFactor, match="homocapsaicin") as refusal:
            heat.scoville_profile({"capsaicin": 1.0, "homocapsaicin": 1.0})
        assert refusal.value.factor == "the SHU factor of homocapsaicin"

    def test_a_profile_of_nothing(self):
        with pytest.raises(InvalidInput, match="no compound"):
            heat.scoville_profile({})
