import math

import numpy as np
import pytest

from spc.compare.certificate_checks.certificate_patterns import Pattern, judged, too_few, untested


def pattern(p_value):
    return Pattern(name="digit preference", test="a test", p_value=p_value, size=20, sentence="-")


def adjusted(*p_values):
    return [found.adjusted for found in judged([pattern(p) for p in p_values])]


def test_p_values_are_adjusted_step_by_step_and_never_fall_back():
    """Four tests: smallest times four, next times three, and none below the one before."""
    assert adjusted(0.01, 0.04, 0.03, 0.005) == pytest.approx([0.03, 0.06, 0.06, 0.02])
    assert adjusted(0.6, 0.9) == pytest.approx([1.0, 1.0])


def test_a_pattern_of_which_nothing_can_be_said_costs_the_others_nothing():
    found = judged([pattern(0.004), untested("just inside the limit", "-", size=3, reason="few")])

    assert found[0].adjusted == pytest.approx(0.004)
    assert found[0].stands_out
    assert math.isnan(found[1].adjusted)
    assert not found[1].stands_out
    assert not found[1].tested


def test_honest_suppliers_show_any_pattern_one_time_in_a_hundred_at_most():
    p = np.random.default_rng(1).uniform(size=(2000, 5))

    told = np.mean(
        [any(found.stands_out for found in judged([pattern(q) for q in row])) for row in p.tolist()]
    )

    assert told == pytest.approx(0.01, abs=0.007)


def test_too_few_certificates_are_told_with_how_many_it_takes():
    assert too_few(5, 8) == "5 certificates are too few; it takes 8."
    assert too_few(8, 8) == ""
