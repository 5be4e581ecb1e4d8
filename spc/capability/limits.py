"""What a capability is measured against: one limit or two, on a scale."""

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.charts import on_log_scale
from spc.errors import InvalidInput

Scale = Literal["linear", "log"]

# Half the width of an index's natural spread, in sigmas.
SIGMAS: Final = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Limits on the scale of the values; infinite where there is none.

    Attributes
    ----------
    lower, upper
        The lower one below the upper one.
    """

    lower: float
    upper: float

    def spread(self, sigma: float) -> float | None:
        """Width between the limits in natural spreads; None with one limit."""
        width = self.upper - self.lower
        return width / (2.0 * SIGMAS * sigma) if math.isfinite(width) else None

    def nearest(self, mean: float, sigma: float) -> float:
        """Distance to the nearer limit in half natural spreads."""
        return min(mean - self.lower, self.upper - mean) / (SIGMAS * sigma)


def limits_on_scale(lower: float | None, upper: float | None, scale: str) -> Limits:
    """One limit or two, on a scale.

    Parameters
    ----------
    lower, upper
        In the unit of the values; None where there is none.
    scale
        ``"linear"`` or ``"log"``.

    Returns
    -------
    Limits

    Raises
    ------
    InvalidInput
        If there is no limit, the lower one is not below the upper one, or the scale is unknown.
    NotPositive
        If a limit is zero or less on log scale.
    """
    low = -math.inf if lower is None else float(on_scale(lower, scale))
    high = math.inf if upper is None else float(on_scale(upper, scale))
    if (lower is None and upper is None) or not low < high:
        raise InvalidInput(
            f"limits of {lower} and {upper} leave nothing to be capable of.",
            where="capability",
            remedy="Give a lower limit, an upper limit, or both with the lower one below.",
        )
    return Limits(lower=low, upper=high)


def on_scale(x: ArrayLike, scale: str) -> NDArray[np.float64]:
    """Values on a scale.

    Parameters
    ----------
    x : any shape
        In any unit.
    scale
        ``"linear"``, or ``"log"`` for natural logarithms.

    Returns
    -------
    array of the shape of `x`

    Raises
    ------
    InvalidInput
        If the scale is not known.
    NotPositive
        If a value is zero or less on log scale.
    """
    if scale == "log":
        return on_log_scale(x)
    if scale != "linear":
        raise InvalidInput(
            f"scale {scale!r} is not known.", where="capability", remedy="Use linear or log."
        )
    return np.asarray(x, dtype=np.float64)
