"""The hill of a lot mean's plausible values, cut where the limits are: a chart's frame."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc.digits import THIN, written

COLUMNS: Final = (
    *("x", "density", "part", "lower", "upper", "value"),
    *("lower_text", "upper_text", "value_text", "text"),
)
ROWS: Final = 160
# Of a normal distribution, 6e-5 lies further out than this many standard uncertainties.
_REACH: Final = 4.0
# A limit further away than this would squash the hill, and becomes an arrow at the edge.
_NEAR: Final = 9.0
_LEAST: Final = 1e-9


def conformity_frame(  # noqa: PLR0913 - one value with its limits, and how both are written
    value: float,
    uncertainty: float,
    *,
    log: bool,
    lower: float | None,
    upper: float | None,
    unit: str,
    text: str,
) -> pd.DataFrame:
    """The hill of plausible values, cut where the limits are.

    Parameters
    ----------
    value
        Lot mean in `unit`.
    uncertainty
        Its standard uncertainty: in `unit`, or of the natural logarithm when `log`.
    log
        Whether the characteristic is judged in logs.
    lower, upper
        Limits in `unit`; None where there is none.
    unit
        Written after the numbers.
    text
        What is said of the share inside.

    Returns
    -------
    DataFrame
        About 160 rows, ascending in `x` (in `unit`): `density` with its peak at 1, `part`
        ``"inside"`` or ``"outside"``; the limits (NaN where there is none), `value` and the texts
        repeated.  At a limit both parts have a row, so that they meet without a gap.
    """
    scale = _Scale(log=log)
    spread = max(uncertainty, _LEAST * max(abs(scale.to(value)), _LEAST))
    hill = _Hill(mean=scale.to(value), spread=spread)
    bounds = (
        -math.inf if lower is None else scale.to(lower),
        math.inf if upper is None else scale.to(upper),
    )
    points, outside = hill.cut(bounds)
    spoken = written(value, uncertainty=value * uncertainty if log else uncertainty, unit=unit)
    return pd.DataFrame(
        {
            "x": scale.back(points),
            "density": hill.density(points),
            "part": np.where(outside, "outside", "inside"),
            "lower": math.nan if lower is None else lower,
            "upper": math.nan if upper is None else upper,
            "value": value,
            "lower_text": _limit_text("min", lower, unit),
            "upper_text": _limit_text("max", upper, unit),
            "value_text": spoken,
            "text": text,
        },
        columns=list(COLUMNS),
    )


def _limit_text(side: str, limit: float | None, unit: str) -> str:
    """A limit as it was set: unlike a measured value, it is never rounded."""
    if limit is None:
        return ""
    number = f"{limit:,.12g}".replace(",", THIN).replace("-", "−")
    return f"{side} {number} {unit}".strip()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scale:
    log: bool

    def to(self, value: float) -> float:
        if not self.log:
            return value
        return math.log(value) if value > 0.0 else -math.inf

    def back(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.exp(points) if self.log else points


@dataclass(frozen=True, slots=True, kw_only=True)
class _Hill:
    mean: float
    spread: float

    def density(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Height at each point; 1 at the mean."""
        return np.asarray(np.exp(-0.5 * ((points - self.mean) / self.spread) ** 2))

    def cut(self, bounds: tuple[float, float]) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
        """Points over the hill and out to the limits near it, and whether each lies outside."""
        near = [bound for bound in bounds if abs(bound - self.mean) <= _NEAR * self.spread]
        ends = [self.mean - _REACH * self.spread, self.mean + _REACH * self.spread, *near]
        margin = 0.5 * self.spread
        grid = np.linspace(min(ends) - margin, max(ends) + margin, ROWS)
        low, high = bounds
        below, inside, above = (
            grid[grid < low],
            grid[(grid > low) & (grid < high)],
            grid[grid > high],
        )
        parts = [
            np.append(below, low) if below.size else below,
            np.concatenate(([low] * bool(below.size), inside, [high] * bool(above.size))),
            np.insert(above, 0, high) if above.size else above,
        ]
        outside = np.repeat([True, False, True], [part.size for part in parts])
        return np.concatenate(parts), outside
