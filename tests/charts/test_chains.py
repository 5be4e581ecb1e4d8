import math

import numpy as np
import pytest

from spc.charts.rules.chains import mean_steps


def test_a_coin_is_thrown_twice_on_average_until_it_shows_heads():
    assert mean_steps(np.array([[0.5]]), np.array([0.5])) == pytest.approx([2.0])


def test_every_state_lasts_as_long_as_the_linear_system_says():
    generator = np.random.default_rng(7)
    chances = generator.dirichlet(np.ones(13), size=12)
    moves, ends = chances[:, :-1], chances[:, -1]

    solved = np.linalg.solve(np.eye(12) - moves, np.ones(12))

    assert mean_steps(moves, ends) == pytest.approx(solved, rel=1e-12)


@pytest.mark.parametrize("chance", [1e-3, 1e-9, 1e-20, 1e-40])
def test_a_run_of_any_length_keeps_its_digits(chance):
    """Two steps that must follow each other, each rare: 1/p + 1/p^2 on average."""
    moves = np.array([[1.0 - chance, chance], [1.0 - chance, 0.0]])

    lasts = mean_steps(moves, np.array([0.0, chance]))

    assert lasts[0] == pytest.approx((1.0 + 1.0 / chance) / chance, rel=1e-13)


def test_a_chain_that_cannot_end_lasts_for_ever():
    assert mean_steps(np.array([[0.5, 0.5], [0.5, 0.5]]), np.zeros(2)).tolist() == [math.inf] * 2


def test_what_is_passed_in_is_left_as_it_was():
    moves, ends = np.array([[0.25, 0.5], [0.5, 0.0]]), np.array([0.25, 0.5])

    mean_steps(moves, ends)

    assert moves.tolist() == [[0.25, 0.5], [0.5, 0.0]]
    assert ends.tolist() == [0.25, 0.5]
