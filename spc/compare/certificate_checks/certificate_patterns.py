"""Patterns in certificates that honest measuring seldom makes, and how sure one may be."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from spc.charts.lots import Scale
from spc.digits import percent, written

PatternName = Literal[
    "repeated values",
    "just inside the limit",
    "digit preference",
    "spread too small",
    "agreement too close",
]

# Chance that an honest supplier shows any pattern at all; such a word is not said lightly.
RISK: Final = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """One pattern that was looked for.

    Attributes
    ----------
    name, test
        What was looked for, and by which test.
    statistic, expected
        What the test counts or measures, and what honest certificates lead one to expect; NaN
        where nothing can be said.
    p_value
        Chance of a statistic at least as odd from honest certificates; NaN where nothing can be
        said.
    adjusted
        The same, with all the other patterns allowed for that were tested.
    stands_out
        Whether that is below `RISK`.
    size
        Number of certificates looked at.
    sentence
        What was seen with its numbers, or why nothing can be said.
    """

    name: PatternName
    test: str
    statistic: float = math.nan
    expected: float = math.nan
    p_value: float = math.nan
    adjusted: float = math.nan
    stands_out: bool = False
    size: int
    sentence: str

    @property
    def tested(self) -> bool:
        """Whether anything can be said."""
        return not math.isnan(self.p_value)


def untested(name: PatternName, test: str, *, size: int, reason: str) -> Pattern:
    """A pattern of which nothing can be said.

    Parameters
    ----------
    name, test
        What would have been looked for, and by which test.
    size
        Number of certificates at hand.
    reason
        Why nothing can be said, as a sentence.

    Returns
    -------
    Pattern
    """
    return Pattern(name=name, test=test, size=size, sentence=reason)


def too_few(size: int, fewest: int) -> str:
    """The reason that certificates are too few, empty where they are not.

    Parameters
    ----------
    size, fewest
        How many there are, and how many the test needs.

    Returns
    -------
    str
    """
    return f"{size} certificates are too few; it takes {fewest}." if size < fewest else ""


def spread_in_words(spread: float, scale: Scale) -> str:
    """A standard deviation or width as people read it.

    Parameters
    ----------
    spread
        In unit, on log scale a share.
    scale
        That it is on.

    Returns
    -------
    str
    """
    return percent(spread) if scale == "log" else written(spread)


def judged(patterns: Sequence[Pattern]) -> tuple[Pattern, ...]:
    """The patterns with p-values adjusted for each other.

    Parameters
    ----------
    patterns
        As each was tested alone.

    Returns
    -------
    tuple of Pattern
        In the order given.

    Notes
    -----
    Whatever the tests have to do with each other, the chance that any stands out with an honest
    supplier is at most `RISK`.

    References
    ----------
    Holm, S. (1979), Scandinavian Journal of Statistics 6, 65-70.
    """
    p = np.array([pattern.p_value for pattern in patterns])
    order = np.argsort(p)
    tested = int(np.isfinite(p).sum())
    left = np.maximum(tested - np.arange(p.size), 1)
    adjusted = np.empty(p.size)
    adjusted[order] = np.minimum(np.maximum.accumulate(p[order] * left), 1.0)
    return tuple(
        replace(pattern, adjusted=float(value), stands_out=bool(value < RISK))
        for pattern, value in zip(patterns, adjusted, strict=True)
    )
