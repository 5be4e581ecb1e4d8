"""Shares found by drawing: how many draws at a time, and how far off the share may be."""

from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

# Draws made at a time: as much as stays in the processor's cache.
BLOCK: Final = 2_000


def blocks(draws: int) -> Iterator[int]:
    """Sizes of the blocks that draws are made in.

    Parameters
    ----------
    draws
        How many there are in all.

    Returns
    -------
    iterator of int
        They add up to `draws`.
    """
    for start in range(0, draws, BLOCK):
        yield min(BLOCK, draws - start)


def share_error(count: ArrayLike, draws: int) -> NDArray[np.float64]:
    """Standard error of a share found by drawing.

    Parameters
    ----------
    count : any shape
        How many draws had the property; of a tie a part of one.
    draws
        Out of how many.

    Returns
    -------
    array of the shape of `count`
        With half a draw added on either side: where no draw had the property, another might.

    References
    ----------
    Wilson, E. B. (1927), Journal of the American Statistical Association 22, 209-212 (why the
    share found is not used as it is).
    """
    share = (np.asarray(count, dtype=np.float64) + 0.5) / (draws + 1.0)
    return np.asarray(np.sqrt(share * (1.0 - share) / draws), dtype=np.float64)
