"""Tables that several screens show; values in, frames out."""

import pandas as pd

from spc.heat import Chain


def held_table(held: pd.DataFrame) -> pd.DataFrame:
    """Held rows, one line a row, with the text as it came."""
    return held.rename(
        columns={
            "name": "file",
            "source_row": "row",
            "remedy": "what to do",
            "original": "as it came",
        }
    )[["file", "row", "lot", "reason", "what to do", "as it came"]]


def calculation_table(chain: Chain) -> pd.DataFrame:
    """A worked calculation, one line a step."""
    return pd.DataFrame(
        [
            {
                "step": step.name,
                "how": step.formula,
                "result": f"{float(step.value.item()):,.6g}".replace(
                    ",", "\N{NARROW NO-BREAK SPACE}"
                ),
                "unit": step.unit,
            }
            for step in chain.steps
        ]
    )


def lots_table(lots: pd.DataFrame) -> pd.DataFrame:
    """All lots, newest first."""
    return pd.DataFrame(
        {
            "lot": lots["lot"],
            "material": lots["material"],
            "supplier": lots["supplier"],
            "received": lots["received_at"].dt.date,
            "crop": lots["harvest_year"],
            "kg": lots["packages"] * lots["package_kg"],
            "price per kg": lots["price_per_kg"],
            "decision": lots["decision"],
            "decided by": lots["decided_by"],
        }
    ).iloc[::-1]
