"""Codes that say which group each reading belongs to."""

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from spc.errors import InvalidInput


def coded(
    codes: ArrayLike, size: int, *, name: str, where: str
) -> tuple[tuple[str, ...], NDArray[np.int64]]:
    """Names of the groups in order of their codes, and each reading's position among them.

    Parameters
    ----------
    codes : shape (readings,)
        Numbers or words.
    size
        Number of readings.
    name
        What the groups are.
    where
        The computation that was asked for.

    Returns
    -------
    names
        Of the groups.
    position : shape (readings,)

    Raises
    ------
    InvalidInput
        If there is not one code a reading, or one is missing; positions count from 0.
    """
    given = np.asarray(codes)
    if given.shape != (size,):
        raise InvalidInput(
            f"{name} has shape {given.shape}, but there are {size} readings in a row.",
            where=where,
            remedy=f"Give each reading its {name}.",
        )
    missing = np.flatnonzero(pd.isna(given))
    if missing.size:
        raise InvalidInput(
            f"reading {missing[0]} has no {name}.",
            where=where,
            remedy=f"State it, or leave out readings without a {name}.",
        )
    groups, position = np.unique(given, return_inverse=True)
    return tuple(str(one) for one in groups), position.astype(np.int64)
