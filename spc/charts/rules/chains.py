"""How long a chain of states lasts before it ends, without losing digits to subtraction."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# Moves are held above this, so that no state is ever left without a way out.
LEAST_CHANCE: Final = 1e-300
# More steps than this would be an echo of that.
MOST_STEPS: Final = 1e280


def mean_steps(moves: Floats, ends: Floats) -> Floats:
    """Mean number of steps from each state until the chain ends.

    Parameters
    ----------
    moves : shape (states, states)
        Chance of moving from the state of the row to that of the column in one step; the
        diagonal is not read, since staying is what is left over.
    ends : shape (states,)
        Chance of ending in one step, from each state.

    Returns
    -------
    array of shape (states,)
        At least one; infinite beyond 1e280 steps.

    Notes
    -----
    States are eliminated one by one, and the chance of leaving a state is the sum of the
    chances of going elsewhere, never one minus the chance of staying: a run of 1e30 steps
    comes out as exact as one of ten, where a general solver returns noise from 1e15 on.

    References
    ----------
    Grassmann, W. K., Taksar, M. I. and Heyman, D. P. (1985), Operations Research 33(5),
    1107-1116.
    """
    move, end = np.maximum(moves, LEAST_CHANCE), ends.copy()
    steps, leaving = np.ones(end.size), end.copy()
    with np.errstate(over="ignore"):
        for state in range(end.size - 1, 0, -1):
            row = move[state, :state]
            leaving[state] = row.sum() + end[state]
            share = move[:state, state] / leaving[state]
            move[:state, :state] += np.outer(share, row)
            end[:state] += share * end[state]
            steps[:state] += share * steps[state]
        leaving[0] = end[0]
        return _filled_in(move, steps, leaving)


def _filled_in(move: Floats, steps: Floats, leaving: Floats) -> Floats:
    if leaving[0] == 0.0:
        return np.full(steps.size, np.inf)
    mean = np.empty(steps.size)
    for state in range(steps.size):
        mean[state] = (steps[state] + move[state, :state] @ mean[:state]) / leaving[state]
    return np.where(mean > MOST_STEPS, np.inf, mean)
