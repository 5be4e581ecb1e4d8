"""Tolerance intervals: where a stated share of all lots lies, with a stated confidence."""

import math
from bisect import bisect_left
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from numpy.typing import ArrayLike
from scipy import special, stats

from spc.capability.limits import Scale, on_scale
from spc.charts.fewlots import tolerance_width
from spc.charts.refusals import refuse_outside, spread_lots
from spc.errors import InvalidInput

Side = Literal["both", "lower", "upper"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToleranceInterval:
    """Where at least a share of all lots lies.

    Attributes
    ----------
    lower, upper
        In the unit of the values; infinite on an open side.
    factor
        Distance from the mean to an end, in standard deviations (on log scale, of logarithms).
    content
        Share of lots inside.
    confidence
        That the share is at least that.
    size
        Number of lots it rests on.
    """

    lower: float
    upper: float
    factor: float
    content: float
    confidence: float
    size: int


@lru_cache(maxsize=512)
def tolerance_factor(n: int, *, content: float, confidence: float, sides: int = 2) -> float:
    """Factor of a normal tolerance interval, mean and standard deviation estimated; exact.

    Parameters
    ----------
    n
        Number of values, at least two.
    content
        Share of the distribution to be held, above a half for two sides.
    confidence
        That it is.
    sides
        1 for mean - k s or mean + k s, 2 for mean ± k s.

    Returns
    -------
    float
        In standard deviations.

    Raises
    ------
    InvalidInput
        If n is below two, a share is out of range, or `sides` is neither 1 nor 2.

    References
    ----------
    ISO 16269-6; NIST/SEMATECH e-Handbook of Statistical Methods, section 7.2.6.3: noncentral t
    for one side.  Wald, A. and Wolfowitz, J. (1946), Annals of Mathematical Statistics 17,
    208-215, with the integral over the mean carried out, for two.
    """
    refuse_outside(confidence, 0.0, 1.0, name="confidence", where="tolerance factor")
    least = 0.5 if _checked_sides(sides) == 2 else 0.0
    refuse_outside(content, least, 1.0, name="content", where="tolerance factor")
    if n < 2:
        raise InvalidInput(
            f"{n} values have no standard deviation.",
            where="tolerance factor",
            remedy="Wait for at least two.",
        )
    if sides == 2:
        return tolerance_width(n, outside=1.0 - content, unlucky=1.0 - confidence)
    root = math.sqrt(n)
    away = root * float(stats.norm.ppf(content))
    return float(stats.nct.isf(1.0 - confidence, n - 1, away)) / root


def tolerance_interval(
    x: ArrayLike,
    *,
    content: float = 0.95,
    confidence: float = 0.95,
    side: Side = "both",
    scale: Scale = "linear",
) -> ToleranceInterval:
    """Limits that hold a share of all lots of a steady stream, of which some were seen.

    Parameters
    ----------
    x : shape (lots,)
        One value per lot, any unit; finite.
    content
        Share of lots to be held.
    confidence
        That they are.
    side
        ``"lower"`` for a lower end only, ``"upper"`` for an upper end only.
    scale
        ``"log"`` where the logarithms are normal.

    Returns
    -------
    ToleranceInterval

    Raises
    ------
    TooFewLots
        If there are fewer than two lots.
    NoSpread
        If all values are equal.
    NotPositive
        If a value is zero or less on log scale.
    InvalidInput
        If a value is not finite, or side, content or confidence is not possible.

    References
    ----------
    ISO 16269-6, statistical tolerance intervals.
    """
    if side not in ("both", "lower", "upper"):
        raise InvalidInput(
            f"side {side!r} is not known.",
            where="tolerance interval",
            remedy="Use both, lower or upper.",
        )
    values = spread_lots(on_scale(x, scale), where="tolerance interval")
    sides = 2 if side == "both" else 1
    factor = tolerance_factor(values.size, content=content, confidence=confidence, sides=sides)
    mean, reach = float(values.mean()), factor * float(values.std(ddof=1))
    lower = -math.inf if side == "upper" else mean - reach
    upper = math.inf if side == "lower" else mean + reach
    return ToleranceInterval(
        lower=math.exp(lower) if scale == "log" else lower,
        upper=math.exp(upper) if scale == "log" else upper,
        factor=factor,
        content=content,
        confidence=confidence,
        size=values.size,
    )


def extremes_confidence(n: int, *, content: float, sides: int = 2) -> float:
    """Confidence that the lots seen, from least to largest, hold a share of all; any distribution.

    Parameters
    ----------
    n
        Number of lots, at least one for each side.
    content
        Share of lots to be held.
    sides
        2 between least and largest, 1 beyond the least or below the largest only.

    Returns
    -------
    float

    Raises
    ------
    InvalidInput
        If n is below `sides`, `content` is not between 0 and 1, or `sides` is neither 1 nor 2.

    References
    ----------
    Wilks, S. S. (1941), Annals of Mathematical Statistics 12, 91-96.
    NIST/SEMATECH e-Handbook of Statistical Methods, section 7.2.6.4.
    """
    refuse_outside(content, 0.0, 1.0, name="content", where="extremes")
    if n < _checked_sides(sides):
        raise InvalidInput(
            f"{n} lots have no two ends.", where="extremes", remedy="Wait for at least two."
        )
    return _held(n, content, sides)


def extremes_size(*, content: float, confidence: float, sides: int = 2) -> int:
    """The fewest lots whose least and largest value hold a share of all; any distribution.

    Parameters
    ----------
    content
        Share of lots to be held.
    confidence
        That they are.
    sides
        2 between least and largest, 1 beyond the least or below the largest only.

    Returns
    -------
    int

    Raises
    ------
    InvalidInput
        If content or confidence is not between 0 and 1, or `sides` is neither 1 nor 2.

    References
    ----------
    Wilks, S. S. (1941), Annals of Mathematical Statistics 12, 91-96.
    """
    refuse_outside(content, 0.0, 1.0, name="content", where="extremes")
    refuse_outside(confidence, 0.0, 1.0, name="confidence", where="extremes")
    least = top = _checked_sides(sides)
    while _held(top, content, sides) < confidence:
        top *= 2
    candidates = range(least, top + 1)
    return candidates[bisect_left(candidates, confidence, key=lambda n: _held(n, content, sides))]


def _held(n: int, content: float, sides: int) -> float:
    """Chance that the share between the extremes, which is beta distributed, is large enough."""
    return float(special.betaincc(n - sides + 1, sides, content))


def _checked_sides(sides: int) -> int:
    if sides not in (1, 2):
        raise InvalidInput(
            f"an interval with {sides} sides is not known.",
            where="tolerance",
            remedy="Use 1 or 2.",
        )
    return sides
