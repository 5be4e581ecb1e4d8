"""Worked examples of JCGM 106:2012, The role of measurement uncertainty in conformity assessment.

Each printed figure is met to its printed digits, and the same figure recomputed by an independent
program to all the digits that program was noted with.
"""

import math

import pytest

from spc.acceptance import conformity, guard_band

# Table 1: conformance probability, standardised distance as printed, and to five decimals.
TABLE_1 = [
    (0.80, 0.84, 0.84162),
    (0.90, 1.28, 1.28155),
    (0.95, 1.64, 1.64485),
    (0.99, 2.33, 2.32635),
    (0.999, 3.09, 3.09023),
]


@pytest.mark.parametrize(("probability", "printed", "exact"), TABLE_1)
def test_distances_of_table_1_give_their_probabilities(probability, printed, exact):
    assert conformity(exact, 1.0, lower=0.0) == pytest.approx(probability, abs=2e-6)
    assert conformity(-exact, 1.0, upper=0.0) == pytest.approx(probability, abs=2e-6)
    assert guard_band(1.0, risk=1.0 - probability) == pytest.approx(printed, abs=5.1e-3)
    assert guard_band(1.0, risk=1.0 - probability) == pytest.approx(exact, abs=5.1e-6)


def test_the_zener_voltage_of_7_3_conforms_to_its_upper_limit_with_92_per_cent():
    chance = conformity(-5.47, 0.05, upper=-5.40)

    assert chance == pytest.approx(0.92, abs=5e-3)
    assert chance == pytest.approx(0.9192433, abs=1e-7)


def test_the_burst_pressure_of_7_3_conforms_to_its_lower_limit_with_99_per_cent():
    chance = conformity(509.7, 8.6, lower=490.0)

    assert chance == pytest.approx(0.99, abs=5e-3)
    assert chance == pytest.approx(0.9890095, abs=1e-7)


def test_the_burst_pressure_at_the_printed_distance_of_2_3():
    assert conformity(2.3, 1.0, lower=0.0) == pytest.approx(0.9892759, abs=1e-7)


def test_the_oil_viscosity_of_7_4_conforms_to_both_limits_with_66_per_cent():
    chance = conformity(13.6, 1.8, lower=12.5, upper=16.3)

    assert chance == pytest.approx(0.66, abs=5e-3)
    assert chance == pytest.approx(0.6626298, abs=1e-7)


def test_the_oil_viscosity_with_both_distances_rounded_as_printed():
    assert conformity(0.0, 1.0, lower=-0.6, upper=1.5) == pytest.approx(0.6589397, abs=1e-7)


class TestMeasuringAsCoarselyAsTheToleranceAllows:
    """Clause 7.7: measurement capability index 1, so the uncertainty is a quarter of it."""

    def test_the_best_value_conforms_with_95_4_per_cent_only(self):
        assert conformity(0.5, 0.25, lower=0.0, upper=1.0) == pytest.approx(0.9544997, abs=1e-7)

    @pytest.mark.parametrize(("printed", "exact"), [(0.45, 0.4490532), (0.55, 0.5509468)])
    def test_a_tenth_of_the_tolerance_is_left_for_acceptance(self, printed, exact):
        """The exact ends by root finding on the normal distribution."""
        assert exact == pytest.approx(printed, abs=5e-3)
        assert conformity(exact, 0.25, lower=0.0, upper=1.0) == pytest.approx(0.95, abs=1e-7)
        assert conformity(printed, 0.25, lower=0.0, upper=1.0) >= 0.95


def test_a_guard_band_of_the_expanded_uncertainty_leaves_2_3_per_cent():
    """Clause 8.3.2."""
    false_acceptance = 1.0 - conformity(10.0 - 2.0, 1.0, upper=10.0)

    assert false_acceptance == pytest.approx(0.023, abs=5e-4)
    assert false_acceptance == pytest.approx(0.0227501, abs=1e-7)


def test_the_speeding_driver_of_8_3_3_is_fined_from_107_km_per_hour():
    """Uncertainty 2 % of the reading, and 99.9 % sure that 100 km/h was exceeded."""
    z = guard_band(1.0, risk=0.001)
    reading = 100.0 / (1.0 - 0.02 * z)

    assert z == pytest.approx(3.09, abs=5e-3)
    assert reading == pytest.approx(106.58761, abs=1e-5)
    assert math.ceil(reading) == 107
    assert conformity(reading, 0.02 * reading, upper=100.0) == pytest.approx(0.001)


def test_the_nandrolone_limit_of_8_3_3_rests_on_ten_samples_and_needs_the_wider_band():
    """The guide takes t = 1.83 for 9 degrees of freedom; ours takes the uncertainty as known."""
    assert guard_band(0.20, risk=0.05) == pytest.approx(0.37 * 1.6448536 / 1.8331129, abs=5e-3)
    assert guard_band(0.20, risk=0.05) < 0.3666226


def test_nine_in_ten_of_the_resistors_of_9_5_3_conform_without_inspection():
    chance = conformity(1500.0, 0.12, lower=1499.8, upper=1500.2)

    assert chance == pytest.approx(0.90, abs=5e-3)
    assert chance == pytest.approx(0.9044193, abs=1e-7)


# ILAC-G8:09/2019, guard band as a multiple of the expanded uncertainty (k = 2) and the specific
# risk of a value on the acceptance limit.  The rows of 1 U and 0 were read, the others are from
# memory; the risks are computed.
ILAC_G8 = [
    ("six sigma", 3.0, 9.866e-10),
    ("three sigma", 1.5, 0.0013499),
    ("ILAC-G8:2009", 1.0, 0.0227501),
    ("ISO 14253-1:2017", 0.83, 0.0484572),
    ("simple acceptance", 0.0, 0.5),
    ("uncritical", -1.0, 1.0 - 0.0227501),
]


@pytest.mark.parametrize(("rule", "multiple", "risk"), ILAC_G8)
def test_guard_bands_of_ilac_g8_keep_their_risk(rule, multiple, risk):
    standard = 0.5

    assert guard_band(standard, risk=risk) == pytest.approx(multiple, abs=2e-5), rule
    assert conformity(multiple, standard, upper=0.0) == pytest.approx(risk, rel=1e-3), rule


def test_the_default_of_iso_14253_1_is_1_65_standard_uncertainties():
    """The edition of 2017, 95 % conformance probability; the factor exact to six decimals."""
    assert guard_band(1.0, risk=0.05) == pytest.approx(1.65, abs=6e-3)
    assert guard_band(0.5, risk=0.05) == pytest.approx(0.822427, abs=1e-6)


def test_decision_limits_after_the_eurachem_compliance_guide():
    """Rule of the guide with made-up numbers: limit 0.30 mg/kg, uncertainty 0.021 mg/kg, 95 %."""
    band = guard_band(0.021, risk=0.05)

    assert 0.30 - band == pytest.approx(0.265458, abs=5e-7)
    assert 0.30 + band == pytest.approx(0.334542, abs=5e-7)
