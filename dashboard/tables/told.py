"""What the command prints: tables for people, plain values for programs."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import date
from typing import Any, Final

import pandas as pd

from spc.acceptance import LotVerdict
from spc.charts import RULES
from spc.digits import written
from spc.store import Receipt, StreamKey, Survey
from spc.store.judgement import snapshot

HELD_TOLD: Final = ("source_row", "lot", "code", "reason", "remedy")


def receipts_told(
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


def review_told(
    lots: pd.DataFrame, verdicts: Mapping[str, LotVerdict], today: date
) -> list[dict[str, Any]]:
    """What `review --json` prints for each lot, in the order given."""
    return [
        {
            "lot": lot,
            "material": row["material"],
            "supplier": row["supplier"],
            "received_at": row["received_at"].date().isoformat(),
            "waiting_days": (today - row["received_at"].date()).days,
            "decision": row["decision"],
            **snapshot(verdicts[lot]),
        }
        for lot, row in zip(lots.index, lots.to_dict("records"), strict=True)
    ]


def sweep_told(survey: Survey) -> dict[str, Any]:
    """What `sweep --json` prints: how much was charted, and every signal, newest first."""
    return {
        "streams": int(survey.points["stream"].nunique()),
        "points": len(survey.points),
        "signals": [
            {
                **{name: row[name] for name in StreamKey.__dataclass_fields__},
                "lot": row["lot"],
                "received_at": row["received_at"].date().isoformat(),
                "value": row["value"],
                "unit": row["unit"],
                "usual": [row["lower"], row["upper"]],
                "baseline_lots": int(row["size"]),
                "rule": row["rule"],
                "sentence": RULES[row["rule"]].sentence,
            }
            for row in survey.signals().to_dict("records")
        ],
    }


def signals_table(survey: Survey) -> pd.DataFrame:
    """One line a signal, newest first, in words."""
    rows = survey.signals().to_dict("records")
    return pd.DataFrame(
        [
            {
                "lot": row["lot"],
                "received": row["received_at"].date(),
                "material": row["material"],
                "supplier": row["supplier"],
                "what": f"{row['characteristic']} by {row['method']}",
                "value": written(row["value"], unit=row["unit"]),
                "signal": row["rule"],
            }
            for row in rows
        ],
        columns=["lot", "received", "material", "supplier", "what", "value", "signal"],
    )
