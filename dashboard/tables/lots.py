"""Lots, their readings, and who did what."""

import pandas as pd

from dashboard import wording
from spc.heat import Chain


def results_table(results: pd.DataFrame) -> pd.DataFrame:
    """The readings of a lot with what each was derived from."""
    values = [
        wording.interval(low, high, unit)
        for low, high, unit in zip(
            results["value_low"], results["value_high"], results["unit"], strict=True
        )
    ]
    return pd.DataFrame(
        {
            "characteristic": results["characteristic"],
            "method": results["method"],
            "sample": results["sample"],
            "replicate": results["replicate"],
            "value": values,
            "basis": results["basis"],
            "reading": results["reading_text"] + " " + results["reading_unit"],
            "measured (UTC)": results["measured_at"].dt.strftime("%Y-%m-%d %H:%M").fillna(""),
            "operator": results["operator"],
            "instrument": results["instrument"],
            "sensor batch": results["sensor_batch"],
            "file": results["file"],
            "row": results["source_row"],
        }
    )


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


def audit_table(entries: pd.DataFrame) -> pd.DataFrame:
    """Entries of the audit chain, newest first."""
    return pd.DataFrame(
        {
            "entry": entries["sequence"],
            "when (UTC)": entries["entered_at"].dt.strftime("%Y-%m-%d %H:%M:%S"),
            "who": entries["actor"],
            "what": entries["action"],
        }
    )
