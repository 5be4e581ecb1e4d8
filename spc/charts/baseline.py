"""The lots that limits rest on while nobody has chosen them."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.charts.rules.rules import checked_starts

# With fewer lots than this of earlier crops, the newest crop is part of what is usual.
FEWEST_EARLIER: Final = 8


def provisional(crop_year: ArrayLike, starts: ArrayLike) -> NDArray[np.bool_]:
    """Lots of the crops before a stream's newest; every lot while those are fewer than eight.

    Parameters
    ----------
    crop_year : shape (points,)
        Year of harvest of each lot, stream after stream; NaN where it is not known.
    starts : shape (streams,)
        Index of each stream's first lot.

    Returns
    -------
    array of bool, shape (points,)

    Raises
    ------
    InvalidInput
        If `starts` does not begin with 0 and rise.

    Notes
    -----
    Seasons shift heat within a grade, so the newest crop is judged by the ones before it: a rule of
    ours, to be replaced by a baseline that a person chooses and freezes.
    """
    year = np.asarray(crop_year, dtype=np.float64)
    first = checked_starts(starts, year.size, where="provisional")
    lengths = np.diff(np.append(first, year.size))
    newest = np.repeat(np.fmax.reduceat(year, first), lengths) if year.size else year
    earlier = year < newest
    enough = np.add.reduceat(earlier.astype(np.int64), first) >= FEWEST_EARLIER
    return np.where(np.repeat(enough, lengths), earlier, np.ones_like(earlier))
