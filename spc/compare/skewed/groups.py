"""One value a lot with its supplier, refused where groups cannot be compared."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.errors import InvalidInput


def checked_groups(
    value: ArrayLike, supplier: ArrayLike, *, where: str, fewest: int = 1
) -> tuple[NDArray[np.float64], NDArray[np.int64], NDArray[np.int64]]:
    """Values, codes, and how many lots each supplier has.

    Parameters
    ----------
    value, supplier : shape (lots,)
        Finite values, and codes from 0 without gaps.
    where
        The computation that was asked for.
    fewest
        Lots that each supplier must have.

    Returns
    -------
    three arrays, of shapes (lots,), (lots,) and (suppliers,)

    Raises
    ------
    InvalidInput
        If they are not that, or there is one supplier only.
    """
    values, code = np.asarray(value, dtype=np.float64), np.asarray(supplier)
    if values.ndim != 1 or values.shape != code.shape:
        raise InvalidInput(
            "values and suppliers are not lists of one length.",
            where=where,
            remedy="Give each lot its value and the code of its supplier.",
        )
    if not np.isfinite(values).all():
        raise InvalidInput(
            "a value is not a finite number.", where=where, remedy="Leave out lots without one."
        )
    whole = np.issubdtype(code.dtype, np.integer) and bool(np.all(code >= 0))
    lots = np.bincount(code) if whole else np.zeros(1, dtype=np.int64)
    if lots.size < 2 or lots.min() < fewest:
        raise InvalidInput(
            f"two suppliers or more are needed, each with {fewest} lots or more.",
            where=where,
            remedy="Number suppliers from 0 without gaps, and leave out those with fewer lots.",
        )
    return values, code.astype(np.int64), lots
