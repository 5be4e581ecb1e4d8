"""What the command prints: tables for people, plain values for programs."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from dashboard.frame.words import count
from spc.answers.review import LotsReviewed
from spc.charts import RULES
from spc.digits import written
from spc.store import StreamKey, Survey
from spc.store.lots.judgement import snapshot


def review_json(reviewed: LotsReviewed) -> list[dict[str, Any]]:
    """What `review --json` prints for each lot, in the order given."""
    return [
        {
            "lot": lot,
            "material": row["material"],
            "supplier": row["supplier"],
            "received_at": row["received_at"].date().isoformat(),
            "waiting_days": (reviewed.today - row["received_at"].date()).days,
            "decision": row["decision"],
            **snapshot(reviewed.verdicts[lot]),
        }
        for lot, row in zip(reviewed.lots.index, reviewed.lots.to_dict("records"), strict=True)
    ]


def sweep_json(survey: Survey) -> dict[str, Any]:
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


def reviewed(told: Mapping[str, Any]) -> tuple[str, str]:
    """A lot with its recommendation in a line, and the sentence that says why."""
    days = count(told["waiting_days"], "day")
    return (
        f"{told['lot']}: {told['recommendation']} ({told['material']} of {told['supplier']},"
        f" received {days} ago)",
        str(told["sentence"]),
    )
