"""Lots, their readings, and who did what."""

import pandas as pd

from dashboard.frame import words as plain


def results_table(results: pd.DataFrame) -> pd.DataFrame:
    """The readings of a lot with what each was derived from."""
    values = [
        plain.interval(low, high, unit)
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
