"""What Today lists, as frames; pure."""

import pandas as pd

from dashboard.today.words import files


def held_kinds(held: pd.DataFrame) -> pd.DataFrame:
    """Held rows by what is wrong with them, most rows first, with where they are."""
    grouped = held.groupby("code", sort=False)
    kinds = grouped.agg(rows=("source_row", "size"), where=("name", files)).reset_index()
    return kinds.sort_values("rows", ascending=False, kind="stable")
