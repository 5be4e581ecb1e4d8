"""Scores for the difference of two values that each state an uncertainty."""

import math
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.errors import InvalidInput

Floats = NDArray[np.float64]

# An expanded uncertainty is twice the standard one.
COVERAGE_FACTOR: Final = 2.0


def zeta_score(
    value: ArrayLike, uncertainty: ArrayLike, own: ArrayLike, own_uncertainty: ArrayLike
) -> Floats:
    """Difference of a value from another, in standard uncertainties of the difference.

    Parameters
    ----------
    value, uncertainty : broadcastable
        Of the one that is scored, with its standard uncertainty.
    own, own_uncertainty : broadcastable
        Of the one it is held against, with its standard uncertainty.

    Returns
    -------
    array
        Usually between -2 and 2, and seldom beyond 3; NaN where anything is missing, or nothing is
        uncertain.

    Raises
    ------
    InvalidInput
        If an uncertainty is negative.

    References
    ----------
    ISO 13528:2022: zeta scores.
    """
    uncertainties = (np.asarray(u, dtype=np.float64) for u in (uncertainty, own_uncertainty))
    return _scored(value, own, *uncertainties)


def expanded_score(
    value: ArrayLike, expanded: ArrayLike, own: ArrayLike, own_expanded: ArrayLike
) -> Floats:
    """E_n: difference of a value from another, in expanded uncertainties of the difference.

    Parameters
    ----------
    value, expanded : broadcastable
        Of the one that is scored, with its expanded uncertainty (k = 2).
    own, own_expanded : broadcastable
        Of the one it is held against, with its expanded uncertainty (k = 2).

    Returns
    -------
    array
        Between -1 and 1 where the uncertainties explain the difference; NaN where anything is
        missing, or nothing is uncertain.

    Raises
    ------
    InvalidInput
        If an uncertainty is negative.

    References
    ----------
    ISO 13528:2022: E_n scores; ISO/IEC 17043, annex B (clause from memory).
    """
    uncertainties = (np.asarray(u, dtype=np.float64) for u in (expanded, own_expanded))
    return _scored(value, own, *uncertainties)


def _scored(value: ArrayLike, own: ArrayLike, first: Floats, second: Floats) -> Floats:
    if np.any(first < 0.0) or np.any(second < 0.0):
        raise InvalidInput(
            "an uncertainty below zero is not possible.",
            where="scores",
            remedy="Give uncertainties of zero or more.",
        )
    joined = np.hypot(first, second)
    difference = np.subtract(value, own, dtype=np.float64)
    return np.asarray(difference / np.where(joined > 0.0, joined, math.nan), dtype=np.float64)
