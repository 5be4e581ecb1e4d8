"""Published capsaicinoid contents and the heat printed beside them."""

import pytest

from spc import heat
from spc.acceptance import contradiction, likely_slip

# González-Zamora et al., J. Chemistry 2015, 709150 (DOI 10.1155/2015/709150, CC BY), Table 1,
# chiltepin: sample, then nordihydrocapsaicin, capsaicin, dihydrocapsaicin in mg/g of dry mass and
# SHU by chromatography; total in mg/g and SHU by ultraviolet.  As printed; the twelfth row was
# cut off in the copy read.
# fmt: off
TABLE_1 = [
    ("Ch1 RR-Cr", 3.96, 17.79, 37.21, 922233, 53.38, 859404),
    ("Ch1 GM-Cr", 4.60, 23.78, 41.67, 1096393, 59.47, 957517),
    ("Ch1 RR-Vc", 4.63, 31.24, 24.08, 933736, None, None),
    ("Ch1 GM-Vc", 6.11, 42.02, 29.49, 1208086, 79.95, 1287262),
    ("Ch2 RR-Cr", 5.41, 43.08, 23.37, 1120242, 81.83, 1317507),
    ("Ch2 GM-Cr", 8.55, 40.14, 43.77, 1430315, 109.64, 1765283),
    ("Ch2 RR-Vc", 6.43, 43.06, 37.39, 1355038, 97.73, 1573485),
    ("Ch2 GM-Vc", 8.38, 56.68, 39.63, 1628524, 118.93, 2468807),
    ("Ch3 RR-Cr", 1.63, 15.96, 11.96, 464591, 20.18, 324924),
    ("Ch3 GM-Cr", 5.97, 39.92, 25.24, 1104602, 76.79, 1236362),
    ("Ch3 RR-Vc", 3.23, 26.75, 19.15, 768946, 62.18, 1001040),
]
# fmt: on
BY_CHROMATOGRAPHY = [row[:5] for row in TABLE_1]
BY_ULTRAVIOLET = [(row[0], row[5], row[6]) for row in TABLE_1 if row[5] is not None]
MISPRINTED = "Ch2 GM-Vc"


def of_first_column(row):
    return row[0] if isinstance(row, tuple) else None


@pytest.mark.parametrize("row", BY_CHROMATOGRAPHY, ids=of_first_column)
def test_three_factors_give_every_chromatographic_heat_of_table_1(row):
    _, nordihydrocapsaicin, capsaicin, dihydrocapsaicin, printed = row

    worked = heat.profile_chain(
        {
            "capsaicin": capsaicin,
            "dihydrocapsaicin": dihydrocapsaicin,
            "nordihydrocapsaicin": nordihydrocapsaicin,
        },
        unit="mg/g",
    )

    assert worked.value == pytest.approx(printed, rel=2e-4)


@pytest.mark.parametrize("row", BY_ULTRAVIOLET, ids=of_first_column)
def test_one_factor_gives_every_ultraviolet_heat_of_table_1_but_one(row):
    sample, total, printed = row
    computed = float(heat.chain(total, unit="mg/g", factor=16.1).value)

    found = contradiction(printed=printed, computed=computed)

    if sample != MISPRINTED:
        assert computed == pytest.approx(printed, rel=3e-4)
        assert found is None
    else:
        assert found is not None
        assert found.computed == pytest.approx(1_914_773)
        assert 100.0 * found.deviation == pytest.approx(-22.4, abs=0.05)


class TestAWorkedChainFromCellToHeat:
    """85.0 µmol/L in the extract of 0.100 g in 10.0 mL, not diluted again; 9.4 g/100 g moisture.

    Computed by hand from standard atomic weights for the project's reference notes.
    """

    @pytest.fixture
    def worked(self):
        return heat.chain(
            85.0, unit="µmol/L", factor=16.1, cell_dilution=1.0, extract=(10.0, 0.100)
        )

    def test_every_step_is_named_and_can_be_checked_by_hand(self, worked):
        assert [(step.name, step.unit) for step in worked.steps] == [
            ("reading", "µmol/L"),
            ("in the cell", "mg/L"),
            ("in the extract", "mg/L"),
            ("content", "mg/kg"),
            ("heat", "SHU"),
        ]
        assert [step.formula for step in worked.steps[1:]] == [
            "× 305.418 g/mol (capsaicin)",
            "× 1 (dilution in the cell)",
            "× 10 mL / 0.1 g (extract dilution)",
            "× 16.1 SHU per mg/kg",
        ]

    def test_every_step_has_the_figure_found_by_hand(self, worked):
        _, in_cell, in_extract, content, shu = (float(step.value) for step in worked.steps)

        assert in_cell == pytest.approx(25.9605, abs=5e-5)
        assert in_extract == in_cell
        assert content == pytest.approx(2596.05, abs=5e-3)
        assert shu == pytest.approx(41_796, abs=0.5)

    @pytest.mark.parametrize(("factor", "expected"), [(16.1, 41_796), (16, 41_537), (15, 38_941)])
    def test_the_factor_of_the_house_decides_the_last_digits(self, worked, factor, expected):
        content = worked.steps[-2].value

        assert heat.scoville(content, factor=factor) == pytest.approx(expected, abs=0.5)

    @pytest.mark.parametrize(("factor", "expected"), [(16.1, 46_133), (15, 42_981)])
    def test_dry_heat_is_higher_by_the_water(self, worked, factor, expected):
        shu = heat.scoville(worked.steps[-2].value, factor=factor)

        assert heat.dry_basis(shu, 9.4) == pytest.approx(expected, abs=1.0)

    def test_a_second_dilution_of_ten_is_a_factor_of_its_own(self, worked):
        diluted = heat.chain(
            8.5, unit="µmol/L", factor=16.1, cell_dilution=10.0, extract=(10.0, 0.100)
        )

        assert diluted.value == pytest.approx(worked.value)


# What the chain above ends in after the usual slips.
FINGERPRINTS = [
    (418, "the extract dilution was never applied"),
    (4_180, "the dilution in the cell was forgotten, or 0.1 g was typed as 1 g"),
    (2_596, "a content in mg/kg was read as SHU"),
    (41.8, "mg/g was read as mg/kg"),
    (4_179_600, "the extract dilution was applied twice, or a decimal comma was read as thousands"),
    (417_960, "a dilution in the cell was entered that was not made"),
    (41_796_000, "mg/kg was read as mg/g, or a decimal sign was lost"),
    (41_796 * 16.1, "SHU were read as a content in mg/kg"),
]


@pytest.mark.parametrize(("seen", "cause"), FINGERPRINTS)
def test_a_slip_is_known_by_its_fingerprint(seen, cause):
    found = likely_slip(seen, 41_796)

    assert found is not None
    assert found.cause == cause


# Factor 15, as-is taken for dry and the reverse, pungency-unit weighting.
@pytest.mark.parametrize("seen", [38_941, 37_870, 46_133, 0.865 * 41_796])
def test_another_convention_is_no_slip(seen):
    assert likely_slip(seen, 41_796) is None


def test_the_riyadh_survey_takes_16_times_capsaicin_alone():
    """Molecules 16 (2011) 8919 (DOI 10.3390/molecules16108919), hot chilli, in µg/g."""
    assert heat.chain(4249.0, unit="µg/g").value == pytest.approx(67_984.60, rel=1e-4)


@pytest.mark.parametrize(
    ("mg_per_100_g", "printed"), [(126.39, 18_958), (164.09, 24_613.5), (0.43, 64.5)]
)
def test_the_korean_survey_takes_15(mg_per_100_g, printed):
    """Air- and sun-dried peppers, 2014, printed in mg %; the first SHU without its half."""
    shu = heat.scoville(10.0 * mg_per_100_g, factor=heat.PUNGENCY_FACTOR)

    assert shu == pytest.approx(printed, abs=0.51)


@pytest.mark.parametrize(
    ("capsaicin", "dihydrocapsaicin", "printed"), [(22.8, 36.8, 961), (9097.3, 4023.6, 211_248)]
)
def test_the_chihuahua_survey_takes_16_1_times_the_sum(capsaicin, dihydrocapsaicin, printed):
    """CyTA 2013 (DOI 10.1080/19476337.2012.716082), minima and maxima, printed to 0.1 mg/kg."""
    shu = heat.scoville_profile({"capsaicin": capsaicin, "dihydrocapsaicin": dihydrocapsaicin})

    assert shu == pytest.approx(printed, abs=16.1 * 0.1)


@pytest.mark.parametrize(("total", "printed"), [(27.33, 439_979), (85.05, 1_369_360)])
def test_the_yucatan_hybrids_take_16_1_times_the_sum(total, printed):
    """Crops 2026, contents in mg/g printed to two decimals."""
    assert heat.chain(total, unit="mg/g", factor=16.1).value == pytest.approx(printed, rel=2e-4)


@pytest.mark.parametrize(
    ("compound", "grams"),
    [
        ("capsaicin", 305.42),
        ("dihydrocapsaicin", 307.43),
        ("nordihydrocapsaicin", 293.41),
        ("homocapsaicin", 319.44),
        ("homodihydrocapsaicin", 321.46),
        ("nonivamide", 293.41),
    ],
)
def test_molar_masses_follow_from_standard_atomic_weights(compound, grams):
    """IUPAC 2021 abridged weights, summed by hand to two decimals."""
    assert heat.MOLAR_MASS[compound] == pytest.approx(grams, abs=6e-3)
