"""Values that a chart cannot use, refused by name and position."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.errors import InvalidInput, NoSpread, TooFewLots

FEWEST_FOR_A_SPREAD: Final = 2
# A spread below this share of the largest value is arithmetic, not spread.
ROUNDING: Final = 4.0 * float(np.finfo(np.float64).eps)


def finite_lots(
    x: ArrayLike, *, where: str, fewest: int = FEWEST_FOR_A_SPREAD
) -> NDArray[np.float64]:
    """One finite value per lot, of at least `fewest` lots.

    Parameters
    ----------
    x : shape (lots,)
        Values in any unit.
    where
        The computation that was asked for.
    fewest
        Number of lots that it needs.

    Returns
    -------
    array of shape (lots,)

    Raises
    ------
    TooFewLots
        If there are fewer than `fewest`.
    InvalidInput
        If `x` is not one-dimensional or not finite; the position counts from 0.
    """
    values = np.asarray(x, dtype=np.float64)
    if values.ndim != 1:
        raise InvalidInput(
            f"values have {values.ndim} dimensions, not one.",
            where=where,
            remedy="Give one value per lot.",
        )
    if values.size < fewest:
        raise TooFewLots(needed=fewest, given=values.size, where=where)
    refuse_unfinished(values, where=where)
    return values


def spread_lots(
    x: ArrayLike, *, where: str, fewest: int = FEWEST_FOR_A_SPREAD
) -> NDArray[np.float64]:
    """One finite value per lot, not all of them equal: `finite_lots`, with one refusal more.

    Raises
    ------
    NoSpread
        If all values are equal but for rounding.
    """
    values = finite_lots(x, where=where, fewest=fewest)
    if np.ptp(values) <= ROUNDING * np.abs(values).max():
        raise NoSpread(value=float(values[0]), lots=values.size, where=where)
    return values


def refuse_unfinished(values: NDArray[np.float64], *, where: str) -> None:
    """Nothing, if every value is a finite number.

    Parameters
    ----------
    values : shape (values,)
        In any unit.
    where
        The computation that was asked for.

    Raises
    ------
    InvalidInput
        If one is NaN or infinite; the position counts from 0.
    """
    refused = np.flatnonzero(~np.isfinite(values))
    if refused.size:
        position = int(refused[0])
        raise InvalidInput(
            f"value {values.flat[position]:g} at position {position} is not a finite number.",
            where=where,
            remedy="Leave out lots without a usable value.",
        )


def refuse_outside(value: float, low: float, high: float, *, name: str, where: str) -> None:
    """Nothing, if a setting lies strictly between two bounds.

    Parameters
    ----------
    value, low, high
        The setting and its bounds.
    name
        What the setting is called.
    where
        The computation that was asked for.

    Raises
    ------
    InvalidInput
        If it lies on a bound, beyond one, or is NaN.
    """
    if not low < value < high:
        raise InvalidInput(
            f"{name} {value:g} is not between {low:g} and {high:g}.",
            where=where,
            remedy=f"Give a {name} strictly between them.",
        )
