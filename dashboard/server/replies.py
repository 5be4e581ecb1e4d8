"""What receiving tells: tables for people, plain values for programs."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any, Final

import pandas as pd

from spc.store import Receipt

HELD_TOLD: Final = ("source_row", "lot", "code", "reason", "remedy")


def receipts_json(
    taken: Sequence[Receipt], refused: Sequence[Mapping[str, str]], held: Mapping[str, pd.DataFrame]
) -> dict[str, Any]:
    """What `receive --json` prints: totals, then each receipt with its held rows."""
    totals = {
        name: sum(getattr(one, name) for one in taken)
        for name in ("rows", "stored", "held", "known", "results")
    }
    return {
        **totals,
        "created_lots": [lot for one in taken for lot in one.created_lots],
        "receipts": [
            {
                **asdict(one),
                "held_rows": held[one.receipt][list(HELD_TOLD)].to_dict("records"),
            }
            for one in taken
        ],
        "refused": list(refused),
    }


def receipts_table(taken: Sequence[Receipt]) -> pd.DataFrame:
    """One line a file: rows = stored + held + known."""
    return pd.DataFrame(
        [
            {
                "file": one.name,
                "rows": one.rows,
                "stored": one.stored,
                "held": one.held,
                "known": one.known,
                "results": one.results,
                "receipt": one.receipt,
            }
            for one in taken
        ]
    )
