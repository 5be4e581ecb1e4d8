"""The words that every screen uses: cautions, counts, days, values."""

import math
from collections.abc import Hashable, Mapping, Sequence
from datetime import date
from typing import Any, Final

import pandas as pd

from spc import units
from spc.digits import written

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
    return joined(shown)


def joined(parts: Sequence[str]) -> str:
    """Parts of a sentence, all of them: ``"a, b and c"``."""
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def day(moment: date | pd.Timestamp) -> str:
    """A date as people write it: ``"3 November 2026"``."""
    return f"{moment.day} {moment:%B %Y}"


def clock_behind(said: pd.Timestamp | None) -> str:
    """What the machine's clock said where it had gone back; empty where it had not."""
    if said is None or pd.isna(said):
        return ""
    return f" (the machine’s clock had gone back to {said:%Y-%m-%d %H:%M})"


def crop(year: float) -> str:
    """``"crop 2026"``, or empty where the year of harvest is not known."""
    return "" if math.isnan(year) else f"crop {int(year)}"


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


_CODES: Final[Mapping[str, str]] = {
    "implausible-dilution": "a dilution that cannot be right",
    "missing-dilution": "a missing dilution",
    "unknown-lot": "a lot that is not in the store",
    "unknown-characteristic": "a word for what was measured that the profile does not know",
    "repeated-header": "the header once more",
    "line-of-report": "a line of the report, not of the table",
    "unreadable-number": "a text that is not a number",
    "ambiguous-number": "a number that can be read in two ways",
    "unreadable-date": "a date that is none",
    "future-date": "a date that lies ahead",
    "implausible-date": "a date before any lot that is kept",
    "impossible-heat": "more heat than the pure compound has",
    "part-by-itself": "one compound by itself",
    "too-many-cells": "more cells than columns",
    "unknown-unit": "an unknown unit",
    "contradiction": "a printed value that its own parts do not give",
    "decided-here": "a decision that is signed here, not received",
    "open-safety-line": "a release over an open safety line",
    "changed-value": "another value than the one taken in",
    "nothing-measured": "nothing measured",
}


def code(name: str) -> str:
    """A hold's code in words."""
    return _CODES.get(name, name.replace("-", " "))


def beside(mend: Mapping[Hashable, Any], cells: Mapping[str, str]) -> str:
    """One cell that was mended: what came, what stands for it, by whom, when and why."""
    came = cells.get(mend["header"], "")
    return (
        f"{mend['header']}: {came or 'nothing'} came, {mend['text'] or 'nothing'} stands for it"
        f" ({mend['mended_by']}, {day(mend['mended_at'])}: {mend['reason']})"
    )


def origin(result: Mapping[str, Any]) -> str:
    """Where a number came from: file, row, who brought it, and how an open reading is meant."""
    open_reading = {
        "<": " The reading lies below the quantification limit, so the value is an upper bound.",
        ">": " The reading lies above the calibrated range, so the value is a lower bound.",
    }.get(result["qualifier"], "")
    return (
        f"Row {result['source_row']} of {result['file']}, brought by {result['received_by']} on"
        f" {day(result['received_at'])}; the file's SHA-256 begins with"
        f" {result['sha256'][:12]}.{open_reading}"
    )
