"""The numbers of a specification's lines as texts that people type, and read back."""

from collections.abc import Mapping
from typing import Final

import pandas as pd

from dashboard.frame.numbers import plainly, understood

# Column to its words, the least and most it can be, and whether it counts things.
NUMBERS: Final[Mapping[str, tuple[str, float, float, bool]]] = {
    "lower": ("lower limit", -1e9, 1e12, False),
    "upper": ("upper limit", -1e9, 1e12, False),
    "target": ("target", -1e9, 1e12, False),
    "consumer_risk": ("consumer risk", 0.0001, 0.5, False),
    "producer_risk": ("producer risk", 0.0001, 0.5, False),
    "plan_n": ("samples n", 1, 100_000, True),
    "plan_k": ("k", -100.0, 100.0, False),
    "plan_c": ("c", 0, 100_000, True),
}


def as_typed(lines: pd.DataFrame) -> pd.DataFrame:
    """Lines as `lines_table` gives them, every number as a person would type it."""
    return lines.assign(
        **{
            name: ["" if pd.isna(number) else plainly(float(number)) for number in lines[name]]
            for name in NUMBERS
        }
    )


def as_read(typed: pd.DataFrame) -> pd.DataFrame:
    """The same lines with the numbers that were typed, by decimal point or comma.

    Raises
    ------
    InvalidInput
        If a cell holds no number, could be two, or lies outside of what it can be.
    """
    return typed.assign(
        **{
            name: pd.Series(
                [
                    _number(text, f"{words} of {what}", least, most, whole=whole)
                    for text, what in zip(typed[name], typed["characteristic"], strict=True)
                ],
                index=typed.index,
                dtype=object,
            )
            for name, (words, least, most, whole) in NUMBERS.items()
        }
    )


def read_otherwise(typed: pd.DataFrame, read: pd.DataFrame) -> str:
    """How cells were understood that are not written as numbers are here; empty if none."""
    told = [
        f"{words} of {what}: {plainly(number)}"
        for name, (words, *_) in NUMBERS.items()
        for what, text, number in zip(typed["characteristic"], typed[name], read[name], strict=True)
        if number is not None and text.strip() != plainly(number)
    ]
    return f"Read as {'; '.join(told)}." if told else ""


def _number(text: object, what: str, least: float, most: float, *, whole: bool) -> float | None:
    if not isinstance(text, str) or not text.strip():
        return None
    return understood(text, what, least=least, most=most, whole=whole)
