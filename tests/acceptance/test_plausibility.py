"""Totals against parts, heat against contents, and moistures a material cannot have."""

from dataclasses import replace

import pytest

from spc.acceptance import MOISTURE_BY_FORM, Line, heat_contradiction, total_contradiction, verdict
from spc.acceptance.evidence.plausibility import moisture
from spc.errors import InvalidInput, MissingFactor
from tests.acceptance.conftest import BALANCE, specification

# González-Zamora et al., J. Chemistry 2015, 709150 (CC BY), mg/g: nordihydrocapsaicin, capsaicin,
# dihydrocapsaicin, their total, and the heat printed for it.
CHILTEPIN = [
    (3.96, 17.79, 37.21, 58.95, 922_233),
    (4.60, 23.78, 41.67, 70.04, 1_096_393),
    (4.63, 31.24, 24.08, 59.95, 933_736),
    (6.11, 42.02, 29.49, 77.62, 1_208_086),
    (5.41, 43.08, 23.37, 71.87, 1_120_242),
    (8.55, 40.14, 43.77, 92.45, 1_430_315),
    (6.43, 43.06, 37.39, 86.88, 1_355_038),
    (8.38, 56.68, 39.63, 104.69, 1_628_524),
    (1.63, 15.96, 11.96, 29.55, 464_591),
    (5.97, 39.92, 25.24, 71.13, 1_104_602),
    (3.23, 26.75, 19.15, 49.12, 768_946),
]


def profile(nordihydrocapsaicin, capsaicin, dihydrocapsaicin):
    return {
        "capsaicin": 1000.0 * capsaicin,
        "dihydrocapsaicin": 1000.0 * dihydrocapsaicin,
        "nordihydrocapsaicin": 1000.0 * nordihydrocapsaicin,
    }


@pytest.mark.parametrize("row", CHILTEPIN)
def test_eleven_published_profiles_agree_with_their_totals_and_their_heat(row):
    parts = profile(*row[:3])

    assert total_contradiction(parts, total=1000.0 * row[3]) is None
    assert heat_contradiction(parts, shu=row[4], tolerance=0.001) is None


def test_the_one_printed_heat_that_contradicts_its_content_is_found():
    """Ch2 GM-Vc by spectrophotometer: 118.93 mg/g, and 2 468 807 SHU printed."""
    found = heat_contradiction({"total": 118_930.0}, shu=2_468_807.0, factors={"total": 16.1})

    assert found is not None
    assert found.computed == pytest.approx(1_914_773.0)
    assert found.deviation == pytest.approx(-0.224, abs=5e-4)


def test_a_total_that_leaves_a_compound_out_is_found():
    found = total_contradiction(profile(8.38, 56.68, 39.63), total=96_310.0)

    assert found is not None
    assert found.deviation == pytest.approx(8.38 / 96.31, abs=1e-4)


def test_what_has_no_factor_or_no_value_is_refused():
    with pytest.raises(MissingFactor):
        heat_contradiction({"nonivamide": 100.0}, shu=1000.0)
    with pytest.raises(InvalidInput, match="no ratio"):
        total_contradiction({}, total=100.0)


class TestMoisture:
    @pytest.fixture
    def water(self, mean):
        def make(value, **other):
            about = {"scale": "linear", "characteristic": "moisture", "unit": "g/100 g"}
            return mean(value, 0.2, method=BALANCE, **(about | other))

        return make

    @pytest.mark.parametrize(("form", "usual"), [("powder", 9.0), ("mash", 88.0), ("flakes", 11.0)])
    def test_what_is_usual_for_the_form_raises_nothing(self, water, form, usual):
        assert not list(moisture(water(usual), expected=MOISTURE_BY_FORM[form]))

    @pytest.mark.parametrize("odd", [0.93, 93.0])
    def test_a_tenth_or_tenfold_of_it_does(self, water, odd):
        (flag,) = moisture(water(odd), expected=MOISTURE_BY_FORM["powder"])

        assert flag.name == "possible slip"
        assert "not plausible for this material (2 to 20 g/100 g is usual)" in flag.sentence
        assert "Check the decimal sign" in flag.sentence

    def test_a_bound_or_an_unknown_material_raises_nothing(self, water):
        assert not list(moisture(water(0.0, high=0.5), expected=(2.0, 20.0)))
        assert not list(moisture(water(93.0), expected=None))

    def test_it_stands_beside_the_verdict_and_holds_by_default(self, readings):
        line = Line(characteristic="heat", unit="SHU", scale="log", lower=38_000.0)
        first_issue = specification(line, plausible_moisture=(2.0, 20.0))
        water = readings(0.93, characteristic="moisture", unit="g/100 g", basis="", method=BALANCE)

        odd, good = (
            verdict([readings(45_000.0), one], first_issue)
            for one in (water, replace(water, low=water.low * 10.0, high=water.high * 10.0))
        )

        assert (odd.recommendation, good.recommendation) == ("hold", "accept")
        assert "0.93 g/100 g by moisture balance is not plausible" in odd.sentence.replace(
            "\N{NARROW NO-BREAK SPACE}", " "
        )
