"""Files, their rows, and the rows that were held."""

import pandas as pd

from dashboard.frame.words import interval


def held_groups(held: pd.DataFrame) -> pd.DataFrame:
    """Held rows by file and what is wrong with them, most rows first."""
    grouped = held.groupby(["name", "receipt", "code"], sort=False)
    groups = grouped.agg(rows=("source_row", "size")).reset_index()
    return groups.sort_values("rows", ascending=False, kind="stable")


def preview_table(results: pd.DataFrame) -> pd.DataFrame:
    """What the first rows of a file would become."""
    return pd.DataFrame(
        {
            "row": results.index,
            "lot": results["lot"],
            "characteristic": results["characteristic"],
            "method": results["method"],
            "reading": results["reading_text"].astype("str")
            + " "
            + results["reading_unit"].astype("str"),
            "value": [
                interval(low, high, unit)
                for low, high, unit in zip(
                    results["value_low"], results["value_high"], results["unit"], strict=True
                )
            ],
            "basis": results["basis"],
        }
    )


def preview_held(held: pd.DataFrame) -> pd.DataFrame:
    """Rows of a file that would be held."""
    return held.reset_index().rename(
        columns={"source_row": "row", "remedy": "what to do", "original": "as it came"}
    )[["row", "lot", "reason", "what to do", "as it came"]]


def receipts_seen(receipts: pd.DataFrame) -> pd.DataFrame:
    """Received files, newest first."""
    return pd.DataFrame(
        {
            "file": receipts["name"],
            "received (UTC)": receipts["received_at"].dt.strftime("%Y-%m-%d %H:%M"),
            "by": receipts["received_by"],
            "read as": receipts["profile"].where(receipts["profile"] != "", receipts["kind"]),
            "rows": receipts["rows"],
            "stored": receipts["stored"],
            "held": receipts["held"],
            "known": receipts["known"],
            "results": receipts["results"],
            "still held": receipts["still_held"],
            "receipt": receipts["receipt"],
        }
    )
