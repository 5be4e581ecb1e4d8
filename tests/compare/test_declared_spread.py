import math

import numpy as np
import pytest
from scipy import stats

from spc.compare.certificate_checks.certificate_pairs import certificate_pairs
from spc.compare.certificate_checks.declared_spread import agreement_too_close, spread_too_small
from spc.compare.certificate_checks.lot_spread import lot_spread

GENERATOR = np.random.default_rng(77)
TRUE = 42_000.0 * np.exp(GENERATOR.normal(0.0, 0.12, 20))
OWN = TRUE * np.exp(GENERATOR.normal(0.0, 0.05, 20))


def pairs(declared, *, own=OWN, uncertainty=0.05, sampling=None, scale="log"):
    table = {"declared": declared, "own": own, "own_uncertainty": np.full(len(own), uncertainty)}
    if sampling is not None:
        table["own_sampling"] = np.full(len(own), sampling)
    return certificate_pairs(table, scale=scale).paired()


def spread(declared, **options):
    found = pairs(declared, **options)
    return spread_too_small(found, lot_spread(found))


def close(declared, sampling=0.05, **options):
    return agreement_too_close(pairs(declared, sampling=sampling, **options))


def test_with_certain_own_results_it_is_the_plain_f_test():
    declared = TRUE**0.5 * 200.0

    found = spread(declared, uncertainty=0.0)

    ratio = np.log(declared).var(ddof=1) / np.log(OWN).var(ddof=1)
    assert found.statistic == pytest.approx(ratio)
    assert found.p_value == pytest.approx(stats.f.cdf(ratio, 19, 19))


def test_what_measuring_adds_is_taken_off_with_its_degrees_of_freedom():
    found = spread(TRUE)

    seen = np.log(OWN).var(ddof=1)
    between = seen - 0.05**2
    ratio = np.log(TRUE).var(ddof=1) / between
    assert found.statistic == pytest.approx(ratio)
    assert found.p_value == pytest.approx(stats.f.cdf(ratio, 19, 19 * (between / seen) ** 2))


def test_typical_values_in_place_of_results_vary_too_little():
    found = spread(42_000.0 * np.exp(GENERATOR.normal(0.0, 0.01, 20)))

    assert found.p_value < 1e-6
    assert "Declared values vary by 0.8 %, and lots by 13 % at least" in found.sentence


def test_one_value_on_every_certificate_has_no_chance_at_all():
    assert spread(np.full(20, 42_000.0)).p_value < 1e-100


def test_certain_certificates_of_honest_suppliers_are_seldom_said_to_vary_too_little():
    generator = np.random.default_rng(5)
    told = 0
    for _ in range(300):
        true = 42_000.0 * np.exp(generator.normal(0.0, 0.1, 15))
        own = true * np.exp(generator.normal(0.0, 0.06, 15))
        told += spread(true, own=own, uncertainty=0.06).p_value < 0.05

    assert told / 300 <= 0.05


def test_own_results_that_are_mostly_error_do_not_show_how_lots_vary():
    assert "differ little more than their own error" in spread(TRUE, uncertainty=0.2).sentence
    assert "it takes 6" in spread(TRUE[:5], own=OWN[:5]).sentence


def test_close_agreement_is_the_chi_squared_test_of_a_known_variance():
    declared = OWN * np.exp(GENERATOR.normal(0.0, 0.03, 20))

    found = close(declared)

    difference = np.log(declared / OWN)
    statistic = 19 * difference.var(ddof=1) / 0.05**2
    assert found.statistic == pytest.approx(statistic)
    assert found.p_value == pytest.approx(stats.chi2.cdf(statistic, 19))
    assert found.expected == 19.0


def test_certificates_copied_from_own_results_agree_too_closely():
    found = close(np.round(OWN, -2), scale="linear", sampling=2_000.0)

    assert found.p_value < 1e-9
    assert "scatter by 2" in found.sentence


def test_a_steady_bias_does_not_hide_close_agreement():
    assert close(1.1 * OWN).p_value == pytest.approx(0.0, abs=1e-30)


def test_an_excellent_laboratory_is_not_suspected():
    """Certificates without any error of their own differ by all that sampling does."""
    generator = np.random.default_rng(15)
    told = 0
    for _ in range(300):
        own = TRUE * np.exp(generator.normal(0.0, 0.05, 20))
        told += close(TRUE, own=own).p_value < 0.05

    assert told / 300 == pytest.approx(0.05, abs=0.038)


def test_without_the_part_that_differs_from_lot_to_lot_nothing_is_said():
    found = close(TRUE, sampling=None)

    assert not found.tested
    assert math.isnan(found.adjusted)
    assert "differs from lot to lot is not known" in found.sentence
    assert "it takes 6" in close(TRUE[:5], own=OWN[:5]).sentence
