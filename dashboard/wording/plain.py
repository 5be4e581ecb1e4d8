"""The words that every screen uses: cautions, counts, days, values."""

import math
from collections.abc import Sequence
from datetime import date
from typing import Final

import pandas as pd

from spc import units
from spc.digits import written
from spc.store import StreamKey

CAUTIONS: Final = (
    "A chart signal is no food-safety verdict. Release needs a qualified person, an accredited"
    " laboratory where the law asks for one, and local rules; example limits are to be checked"
    " against current law."
)


HANDLING: Final = (
    "Hot powders and solvents: enclosed mill and local exhaust, goggles, nitrile gloves, no"
    " contact lenses; keep solvents from flames and follow local safety rules."
)

_MOST_NAMED: Final = 6


def count(number: int, noun: str, plural: str = "") -> str:
    """A number with its noun: ``"1 lot"``, ``"3 lots"``."""
    return f"{number} {noun if number == 1 else plural or noun + 's'}"


def listed(names: Sequence[str]) -> str:
    """Several names in a sentence; of many, the first ones and how many more."""
    shown = list(names)
    if len(shown) > _MOST_NAMED:
        shown = [*names[: _MOST_NAMED - 1], f"{len(names) - _MOST_NAMED + 1} others"]
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"


def day(moment: date | pd.Timestamp) -> str:
    """A date as people write it: ``"3 November 2026"``."""
    return f"{moment.day} {moment:%B %Y}"


def crop(year: float) -> str:
    """``"crop 2026"``, or empty where the year of harvest is not known."""
    return "" if math.isnan(year) else f"crop {int(year)}"


def stream_name(key: StreamKey) -> str:
    """A stream in one line."""
    basis = f", {key.basis}" if key.basis not in ("", "as-is") else ""
    return f"{key.material} from {key.supplier}: {key.characteristic} by {key.method}{basis}"


def interval(low: float, high: float, unit: str) -> str:
    """A value that may be open, lie between two, or say whether something was found."""
    if units.measures(unit).startswith("presence"):
        return f"{'detected' if low > 0.0 else 'absent'} {unit}"
    if low == high:
        return written(low, unit=unit)
    if math.isinf(high):
        return f"above {written(low, unit=unit)}"
    if low <= 0.0:
        return f"below {written(high, unit=unit)}"
    return f"{written(low)} to {written(high, unit=unit)}"


LAW: Final = (
    "Limits of law change and differ by country: each line carries its source and date; check"
    " current law before you rely on it."
)
