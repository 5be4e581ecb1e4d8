"""What Today lists, as frames; pure."""

from collections.abc import Mapping

import pandas as pd

from dashboard.today.words import files
from spc.acceptance import LotVerdict


def held_kinds(held: pd.DataFrame) -> pd.DataFrame:
    """Held rows by what is wrong with them, most rows first, with where they are."""
    grouped = held.groupby("code", sort=False)
    kinds = grouped.agg(rows=("source_row", "size"), where=("name", files)).reset_index()
    return kinds.sort_values("rows", ascending=False, kind="stable")


def routine(waiting: pd.DataFrame, verdicts: Mapping[str, LotVerdict]) -> pd.DataFrame:
    """Waiting lots that need no thought: all lines conform, nothing is to note, nobody held them.

    With what the evidence says of each in a column `sentence`.
    """
    plain = [
        row["decision"] == ""
        and verdicts[row["lot"]].recommendation == "accept"
        and not verdicts[row["lot"]].flags
        for row in waiting.to_dict("records")
    ]
    found = waiting[plain]
    said = [verdicts[lot].sentence.partition(":")[2].strip() for lot in found["lot"]]
    return found.assign(sentence=said)
