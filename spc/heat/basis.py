"""As-is and dry: the same heat on two masses."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.errors import InvalidInput


def dry_basis(value: ArrayLike, moisture_pct: ArrayLike) -> NDArray[np.float64]:
    """An as-is value on dry basis.

    Parameters
    ----------
    value : any shape
        As-is, any unit by mass.
    moisture_pct
        Moisture, g/100 g; at least 0 and below 100.

    Returns
    -------
    array
        In the unit of `value`.

    Raises
    ------
    InvalidInput
        If a moisture lies outside its range.
    """
    return np.asarray(value, dtype=np.float64) / _dry_share(moisture_pct)


def as_is_basis(value: ArrayLike, moisture_pct: ArrayLike) -> NDArray[np.float64]:
    """A dry-basis value as-is: the inverse of `dry_basis`.

    Parameters
    ----------
    value : any shape
        On dry basis, any unit by mass.
    moisture_pct
        Moisture, g/100 g; at least 0 and below 100.

    Returns
    -------
    array
        In the unit of `value`.

    Raises
    ------
    InvalidInput
        If a moisture lies outside its range.
    """
    return np.asarray(value, dtype=np.float64) * _dry_share(moisture_pct)


def _dry_share(moisture_pct: ArrayLike) -> NDArray[np.float64]:
    moisture = np.asarray(moisture_pct, dtype=np.float64)
    if np.any((moisture < 0.0) | (moisture >= 100.0)):
        raise InvalidInput(
            f"moisture {moisture[(moisture < 0.0) | (moisture >= 100.0)].flat[0]:g} g/100 g"
            " is not possible.",
            where="basis",
            remedy="Give moisture in g/100 g, at least 0 and below 100.",
        )
    return np.asarray(1.0 - moisture / 100.0)
