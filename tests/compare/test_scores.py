import math

import numpy as np
import pytest

from spc.compare.certificate_checks.scores import expanded_score, zeta_score
from spc.errors import InvalidInput


def test_a_zeta_score_is_twice_the_e_n_where_coverage_is_two():
    declared, own = np.array([41_000.0, 39_500.0]), np.array([40_000.0, 42_000.0])
    u, v = np.array([900.0, 700.0]), np.array([1_200.0, 1_100.0])

    zeta, expanded = zeta_score(declared, u, own, v), expanded_score(declared, 2 * u, own, 2 * v)

    assert zeta == pytest.approx(2.0 * expanded)
    assert np.sign(zeta).tolist() == [1.0, -1.0]


def test_scores_of_honest_values_have_a_spread_of_one():
    generator = np.random.default_rng(3)
    u, v = 3.0, 4.0
    found = zeta_score(generator.normal(50, u, 20_000), u, generator.normal(50, v, 20_000), v)

    assert found.std() == pytest.approx(1.0, abs=0.02)


def test_without_a_stated_uncertainty_there_is_no_score():
    found = zeta_score([1.0, 2.0], [math.nan, 0.1], [1.1, 2.1], [0.1, 0.1])

    assert np.isnan(found).tolist() == [True, False]
    assert math.isnan(float(expanded_score(2.0, 0.0, 1.0, 0.0)))


def test_a_negative_uncertainty_is_refused():
    with pytest.raises(InvalidInput, match="below zero"):
        expanded_score(1.0, -0.1, 1.0, 0.1)
