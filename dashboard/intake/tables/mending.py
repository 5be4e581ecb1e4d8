"""Held rows cell by cell, and what would change if results were withdrawn."""

import json

import pandas as pd

from dashboard.intake.words import mending
from spc.store.files.withdrawals import Consequences


def cells_table(held: pd.DataFrame) -> pd.DataFrame:
    """Held rows of one file as they came, one column a header; indexed by source row."""
    told = [json.loads(text) for text in held["original"]]
    return pd.DataFrame(told, index=pd.Index(held["source_row"], name="row")).fillna("")


def changed_table(told: Consequences) -> pd.DataFrame:
    """Lots that would be judged otherwise, before and after."""
    return pd.DataFrame(
        [
            {
                "lot": one.lot,
                "decision": one.decision or "waiting",
                "as it stands": mending.judged(one.before),
                "without these results": mending.judged(one.after),
            }
            for one in told.changed
        ]
    )


def blends_table(told: Consequences) -> pd.DataFrame:
    """Blends that hold or plan some of a lot that would be known otherwise."""
    return pd.DataFrame(
        {
            "blend": told.blends["blend"],
            "state": told.blends["status"],
            "lot": told.blends["lot"],
            "share of it (%)": (100.0 * told.blends["share"]).round(1),
        }
    )
