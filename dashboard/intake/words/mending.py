"""Held rows mended in place, and results withdrawn together, in sentences."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

import pandas as pd

from dashboard.frame.words import count
from dashboard.intake.tables.alike import Alike
from spc.acceptance import LotVerdict
from spc.store import Receipt
from spc.store.files.withdrawals import Consequences

HOW: Final = (
    "The file and the held rows keep the text as it came; the new text stands beside it with your"
    " name and reason, and the rows are checked again by it."
)
LEFT_OVER: Final = "Empty when the columns now have what each should have."
WITHDRAWING: Final = (
    "Results are withdrawn for a cause that was found, not because they are unwelcome. They stay in"
    " the record as void, with the cause and the two persons; decisions that were signed stand"
    " until someone signs another."
)


RIGHT: Final = (
    "If the values were checked and are right as they stand, say so: they are stored, with your"
    " name and reason beside them."
)
# What is put in the place of a text that is no number, by what it means.
ALIKE: Final[Mapping[str, str]] = MappingProxyType(
    {
        "": "nothing measured",
        "<LOQ": "below the quantification limit",
        ">ULOQ": "above the calibrated range",
    }
)
ANOTHER: Final = "In the file's own decimal sign; it stands in the place of the text in every row."
CHOOSE: Final = "Choose how they are read, or write another text."


def are_right(rows: int) -> str:
    """What the button says."""
    return "It is right" if rows == 1 else f"All {rows} are right"


def confirmed(told: Receipt) -> str:
    """What became of rows that were found to be right."""
    return (
        f"{told.name}: {count(told.rows, 'row')} found to be right by {told.received_by};"
        f" {told.stored} stored now, {told.known} known, {told.held} still held."
    )


def alike(one: Alike) -> str:
    """Which text stands in how many rows."""
    return f"{one.header} is {one.text} in {count(len(one.rows), 'row')}."


def looked_at(told: Receipt) -> str:
    """What a mend would make of the rows."""
    return (
        f"Of {count(told.rows, 'row')}, {told.stored} would be stored, {told.known} are known, and"
        f" {told.held} would still be held. Nothing is stored yet."
    )


def mended(told: Receipt) -> str:
    """What a mend made of the rows."""
    return (
        f"{told.name}: {count(told.rows, 'row')} mended by {told.received_by}; {told.stored} stored"
        f" now, {told.known} known, {told.held} still held."
    )


def present(texts: pd.Series) -> str:
    """What stands in a column of the chosen rows now."""
    distinct = list(dict.fromkeys(texts))
    shown = ", ".join(text or "nothing" for text in distinct[:3])
    return f"now {shown}{f' and {len(distinct) - 3} more' if len(distinct) > 3 else ''}"


def consequences(told: Consequences, what: str) -> str:
    """What would follow from a withdrawal, in the first line."""
    lots = count(told.lots, "lot or control sample", plural="lots and control samples")
    if not told.changed:
        follows = "no lot would be judged otherwise"
    else:
        decided = sum(one.decision not in ("", "on hold") for one in told.changed)
        follows = (
            f"{count(len(told.changed), 'lot')} of {told.judged} looked at would be judged"
            f" otherwise, {decided} of them already decided"
        )
    blends = len(told.blends.drop_duplicates(["blend", "status"]))
    mixed = f", and {count(blends, 'blend')} would be concerned" if blends else ""
    return (
        f"Without {what}, {count(told.results, 'result')} of {lots} would no longer count:"
        f" {follows}{mixed}. Nothing is withdrawn yet."
    )


def judged(verdict: LotVerdict) -> str:
    """A verdict with what stands beside it and is not in its sentence."""
    names = dict.fromkeys(flag.name for flag in verdict.flags)
    flags = ", ".join(name for name in names if name not in verdict.sentence)
    return f"{verdict.sentence}{f' Beside it: {flags}.' if flags else ''}"
