"""Versions of a method, and who brought each."""

from typing import Final

import pandas as pd

from spc.answers import adoptions

_STATED: Final = (
    *("standard_uncertainty", "repeatability", "bias", "uncertainty_kind", "reading_unit"),
    *("quantification_limit", "range_upper", "dilution_lowest", "dilution_highest", "factors"),
)


def method_versions_table(versions: pd.DataFrame) -> pd.DataFrame:
    """Versions of a method, newest first, with who brought each and why."""
    told = {
        "version": versions["version"],
        "state": versions["standing_of_version"],
        "brought by": versions["received_by"],
        "on (UTC)": versions["received_at"].dt.strftime("%Y-%m-%d %H:%M"),
        "reason": [
            adoptions.reason_of(bytes(content).decode("utf-8", "replace"))
            for content in versions["content"]
        ],
        **{name.replace("_", " "): versions[name] for name in _STATED},
        "file": versions["file"],
    }
    return pd.DataFrame(told).iloc[::-1]
