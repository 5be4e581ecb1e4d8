"""Results corrected by their source, in sentences."""

from typing import Final

import pandas as pd

from dashboard.frame.words import count
from spc.store.files.changed_results import Correction

HOW: Final = (
    "The new result takes the place of the one that stands; both stay in the record, with your"
    " name and reason. Have the source confirm it first."
)


def row(number: int, lot: str) -> str:
    """A held row, as it is chosen."""
    return f"row {number}, lot {lot}"


def follows(told: Correction) -> str:
    """What would follow, in the first line."""
    after = told.consequences
    if after is None or not after.changed:
        verdicts = "no lot would be judged otherwise"
    else:
        judged = count(len(after.changed), "lot")
        verdicts = f"{judged} of {after.judged} looked at would be judged otherwise"
    blends = 0 if after is None else len(after.blends.drop_duplicates(["blend", "status"]))
    mixed = f", and {count(blends, 'blend')} would be concerned" if blends else ""
    beside = (
        f" {', '.join(told.decided)} is decided, so a second person signs." if told.decided else ""
    )
    return f"With the new value, {verdicts}{mixed}. Nothing is corrected yet.{beside}"


def side_by_side(told: Correction) -> pd.DataFrame:
    """Old and new, one line a result."""
    pairs = told.pairs
    return pd.DataFrame(
        {
            "lot": pairs["lot"],
            "characteristic": pairs["characteristic"],
            "method": pairs["method"],
            "sample": pairs["sample"],
            "stands": pairs["was"],
            "the row says": pairs["now"],
        }
    )
