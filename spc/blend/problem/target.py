"""What a blend must be: a window for each characteristic, and the odds of lying inside it."""

import math
from dataclasses import dataclass
from typing import Final

from spc.blend.problem.stock import Basis
from spc.digits import THIN, percent
from spc.errors import InvalidInput

# Below an even chance a wider spread may help, and recipes that keep odds are no longer a convex
# set (see `cone`).
LEAST_ODDS: Final = 0.5


def plain(value: float) -> str:
    """A number as it was asked for: grouped, and with all of its digits."""
    return f"{value:,.10g}".replace(",", THIN)


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Limits of one characteristic of the blend.

    Attributes
    ----------
    characteristic, unit, basis
        What is limited, in which unit, as-is or dry.
    lower, upper
        Limits of the mean; None where there is none.
    target
        What the mean should come near to; None where any value inside is as good.
    odds
        Chance, at least, that the blend as it truly is lies inside; None if it is enough that
        the best estimate does.
    """

    characteristic: str
    unit: str
    lower: float | None = None
    upper: float | None = None
    target: float | None = None
    basis: Basis = "as-is"
    odds: float | None = None

    def __post_init__(self) -> None:
        given = [each for each in (self.lower, self.target, self.upper) if each is not None]
        if not given or not all(map(math.isfinite, given)):
            raise self._refused(
                "there is no finite limit and no target.", "Give a lower or an upper limit."
            )
        if given != sorted(given):
            raise self._refused(
                f"{', '.join(f'{each:g}' for each in given)} {self.unit} are not in order.",
                "Give the lower limit, the target and the upper limit in rising order.",
            )
        if self.odds is not None:
            self._check_odds(self.odds)

    @property
    def low(self) -> float:
        """The lower limit, -inf where there is none."""
        return -math.inf if self.lower is None else self.lower

    @property
    def high(self) -> float:
        """The upper limit, inf where there is none."""
        return math.inf if self.upper is None else self.upper

    @property
    def center(self) -> float:
        """The target; else the middle; else the only limit."""
        if self.target is not None:
            return self.target
        if self.lower is None or self.upper is None:
            return self.high if self.lower is None else self.low
        return (self.lower + self.upper) / 2.0

    @property
    def scale(self) -> float:
        """Half the width of the window, or the size of its only figure; 1 where that is 0."""
        half = (self.high - self.low) / 2.0
        return (half if math.isfinite(half) else abs(self.center)) or abs(self.center) or 1.0

    def at_least(self, limit: float) -> str:
        """The lower limit in words."""
        return f"{self.characteristic} of at least {self.amount(limit)}"

    def at_most(self, limit: float) -> str:
        """The upper limit in words."""
        return f"{self.characteristic} of at most {self.amount(limit)}"

    def with_odds(self, odds: float) -> str:
        """The odds in words."""
        return f"odds of at least {percent(odds)} that {self.characteristic} lies inside its limits"

    def amount(self, value: float) -> str:
        """A value of the characteristic in words."""
        dry = " dry" if self.basis == "dry" else ""
        return f"{plain(value)} {self.unit}{dry}"

    def _check_odds(self, odds: float) -> None:
        if not LEAST_ODDS <= odds < 1.0:
            raise self._refused(
                f"odds of {odds:g} cannot be asked for.",
                f"Give a chance of at least {LEAST_ODDS:g} and below 1.",
            )
        if not self.low < self.high or (self.lower is None and self.upper is None):
            raise self._refused(
                "odds need a window with room in it.",
                "Give a lower limit below the upper one, or one limit only.",
            )

    def _refused(self, what: str, remedy: str) -> InvalidInput:
        return InvalidInput(what, where=f"target for {self.characteristic}", remedy=remedy)
