"""Figures that stay true when they are rounded."""

import math
from typing import Final

DIGITS: Final = 3
# A hair beyond three digits is those three digits.
HAIR: Final = 1e-9


def rounded(value: float, *, up: bool) -> float:
    """A value to three digits, away from where it would be too little."""
    if value == 0.0 or not math.isfinite(value):
        return value
    step = 10.0 ** (math.floor(math.log10(abs(value))) + 1 - DIGITS)
    steps = value / step
    whole = math.ceil(steps - HAIR) if up else math.floor(steps + HAIR)
    return round(whole * step, 12)
