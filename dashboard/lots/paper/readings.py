"""Readings in a lot's record, and how each was worked out."""

from collections.abc import Mapping
from itertools import groupby
from typing import Any, Final

import pandas as pd

from dashboard.frame.paper import Told
from dashboard.frame.tables import calculation_table
from dashboard.frame.words import interval, origin
from spc.acceptance import Specification
from spc.answers.lot_record import Calculation

_STANDING: Final[Mapping[str, str]] = {
    "declared": "the supplier's word, which decides nothing",
    "reference": "reference method",
}


def readings(results: pd.DataFrame, specification: Specification) -> list[Told]:
    """Every current reading: a group for each characteristic, method, basis and file."""
    order = {one.characteristic: place for place, one in enumerate(specification.lines)}
    rows = sorted(
        results.to_dict("records"),
        key=lambda row: (
            order.get(row["characteristic"], len(order)),
            row["standing"] == "declared",
            _group(row),
            _natural(row["sample"]),
            _natural(row["replicate"]),
            row["source_row"],
        ),
    )
    return [
        {"head": _heading(found[0]), "rows": [_reading(row) for row in found]}
        for found in (list(rows) for _, rows in groupby(rows, key=_group))
    ]


def calculation(one: Calculation) -> Told:
    """One reading worked out, so that it can be checked by hand."""
    result = one.result
    sample = f", sample {result['sample']}" if result["sample"] else ""
    replicate = f", replicate {result['replicate']}" if result["replicate"] else ""
    steps = calculation_table(one.chain)
    given = interval(result["value_low"], result["value_high"], result["unit"])
    return {
        "name": f"{result['characteristic']} by {result['method']}{sample}{replicate}",
        "given": given if len(steps) == 1 else "",
        "origin": origin(result),
        "rows": steps[["step", "how", "result", "unit"]].astype("str").to_numpy().tolist(),
    }


def moment(at: pd.Timestamp | None) -> str:
    """A moment in a table: a day where only that is known, empty where nothing is."""
    if at is None or pd.isna(at):
        return ""
    return f"{at:%Y-%m-%d}" if at == at.normalize() else f"{at:%Y-%m-%d %H:%M}"


def _group(row: Mapping[Any, Any]) -> tuple[str, ...]:
    return tuple(str(row[name]) for name in ("characteristic", "method", "basis", "file"))


def _natural(text: str) -> tuple[int, int, str]:
    """Sample 10 comes after sample 9."""
    return (0, int(text), "") if text.isdecimal() else (1, 0, text)


def _heading(row: Mapping[Any, Any]) -> Told:
    told = [
        row["basis"],
        _STANDING.get(row["standing"], ""),
        "screening method" if row["screening"] and row["standing"] != "declared" else "",
    ]
    return {
        "what": f"{row['characteristic']} by {row['method']}",
        "how": ", ".join(one for one in told if one),
        "file": row["file"],
    }


def _reading(row: Mapping[Any, Any]) -> list[str]:
    return [
        row["sample"],
        row["replicate"],
        interval(row["value_low"], row["value_high"], row["unit"]),
        f"{row['reading_text']} {row['reading_unit']}",
        moment(row["measured_at"]),
        row["operator"],
        row["instrument"],
        row["sensor_batch"],
        str(row["source_row"]),
    ]
