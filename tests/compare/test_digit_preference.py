import itertools
import math

import numpy as np
import pytest
from scipy import stats

from spc.compare.certificate_checks.certificate_pairs import certificate_pairs
from spc.compare.certificate_checks.digit_preference import chance_of_digits, digit_preference
from spc.compare.certificate_checks.printed_digits import printed_digits


def looked_at(declared):
    pairs = certificate_pairs(
        {"declared": declared, "own": declared, "own_uncertainty": np.zeros(len(declared))},
        scale="linear",
    )
    return digit_preference(pairs, printed_digits(pairs.printed))


def test_the_exact_chance_is_that_of_counting_every_outcome():
    """Five values among four digits: 1024 outcomes, counted."""
    outcomes = np.array(list(itertools.product(range(4), repeat=5)))
    squares = np.array([(np.bincount(row, minlength=4) ** 2).sum() for row in outcomes])

    for count in ([5, 0, 0, 0], [3, 2, 0, 0], [2, 1, 1, 1]):
        seen = np.array(count)
        assert chance_of_digits(seen) == pytest.approx(np.mean(squares >= (seen**2).sum()))


def test_all_alike_has_the_chance_of_one_digit_after_the_other():
    assert chance_of_digits(np.array([12] + [0] * 9)) == pytest.approx(10.0**-11)


def test_many_values_follow_the_chi_squared_distribution():
    count = np.array([70, 40, 52, 45, 61, 38, 49, 55, 43, 47])

    assert chance_of_digits(count) == pytest.approx(stats.chisquare(count).pvalue)


def test_exact_and_approximate_meet_where_one_takes_over():
    few = np.array([9, 3, 5, 4, 6, 3, 5, 7, 4, 4])

    assert few.sum() == 50
    assert chance_of_digits(few) == pytest.approx(stats.chisquare(few).pvalue, abs=0.03)


def test_a_supplier_that_prints_fives_and_noughts_prefers_them():
    generator = np.random.default_rng(9)
    declared = 500.0 * np.rint(generator.normal(42_000.0, 4_000.0, 30) / 500.0)

    found = looked_at(declared)

    assert found.p_value < 1e-9
    assert found.expected == 9.0
    assert "of 30 declared values have a" in found.sentence
    assert "that of 100" in found.sentence


def test_honest_digits_are_called_preferred_as_often_as_stated():
    generator = np.random.default_rng(31)
    p = np.array(
        [looked_at(np.rint(generator.normal(420.0, 60.0, 25))).p_value for _ in range(120)]
    )

    assert np.mean(p < 0.1) == pytest.approx(0.1, abs=0.082)


def test_moisture_that_varies_by_a_few_tenths_says_nothing():
    found = looked_at([9.4, 9.5, 9.3, 9.4, 9.6, 9.5, 9.4, 9.4, 9.3, 9.5])

    assert not found.tested
    assert math.isnan(found.statistic)
    assert "follows the lots" in found.sentence


def test_nine_certificates_say_nothing():
    assert (
        looked_at(np.linspace(10.0, 90.0, 9)).sentence == "9 certificates are too few; it takes 10."
    )
