"""What was predicted of the blends that were made, against what was measured of them."""

import math
from collections.abc import Iterable
from dataclasses import replace
from typing import Any, Final

import pandas as pd

from spc.acceptance import Line
from spc.blend.outlook.learning import with_deviations
from spc.digits import written
from spc.store.blends import assays, drafts
from spc.store.blends.drafts import Predicted
from spc.store.file.cursors import Cursor, records
from spc.store.lots import gathering
from spc.store.lots.gathering import Gathered

MADE: Final = """
    select blend_status.*, lot.received_at as day
    from blend_status
    join lot using (lot)
    where blend_status.status = 'made'
    order by lot.received_at, lot.lot
"""

COLUMNS: Final = (
    "blend",
    "name",
    "sheet",
    "lot",
    "made_at",
    "characteristic",
    "unit",
    "scale",
    "basis",
    "predicted",
    "predicted_sd",
    "learned",
    "measured",
    "measured_u",
    "method",
    "remark",
)


def against_measured(cursor: Cursor, *, characteristic: str = "") -> pd.DataFrame:
    """Every blend that was made, with what was predicted and what was measured of it.

    Parameters
    ----------
    characteristic
        Only this one; empty for all.

    Returns
    -------
    DataFrame
        One line a blend and characteristic that was predicted, in order of making: blend, name,
        sheet, lot, made_at, characteristic, unit, scale, basis, predicted and predicted_sd (of the
        kilograms as weighed, if that was given), learned (correction in it), measured and
        measured_u (the lot mean that decides in the lot's verdict, on the basis of the
        prediction), method, remark (why nothing is measured; empty if something is), and from
        `with_deviations` deviation, deviation_u and zeta.
    """
    made = records(cursor, MADE)
    gathered = gathering.gather(cursor, [row["lot"] for row in made])
    rows = [
        _line(row, one, gathered)
        for row in made
        for one in _predicted(row)
        if characteristic in ("", one.characteristic)
    ]
    return with_deviations(pd.DataFrame(rows, columns=list(COLUMNS)))


def _predicted(row: dict[str, Any]) -> Iterable[Predicted]:
    """Of the kilograms as weighed; of the recipe where nobody worked that out."""
    return drafts.predicted_of(row["predicted"] or row["recipe"])


def _line(row: dict[str, Any], one: Predicted, gathered: Gathered) -> dict[str, Any]:
    line = replace(assays.line_of(gathered, row["lot"], one.characteristic), basis=one.basis)
    return {
        **{name: row[name] for name in ("blend", "name", "sheet", "lot")},
        "made_at": row["day"],
        "characteristic": one.characteristic,
        "unit": line.unit,
        "scale": line.scale,
        "basis": one.basis,
        "predicted": one.mean,
        "predicted_sd": one.standard_deviation,
        "learned": one.learned,
        **_measured(row["lot"], line, gathered),
    }


def _measured(lot: str, line: Line, gathered: Gathered) -> dict[str, Any]:
    evidence = gathered.evidence[lot]
    nothing = {"measured": math.nan, "measured_u": math.nan, "method": ""}
    if not evidence.deciding(line):
        return {**nothing, "remark": "not measured yet"}
    found = assays.assay(evidence, line)
    if found is None:
        return {**nothing, "remark": f"not measured on {line.basis} basis"}
    mean, _ = found
    side = assays.bound(mean)
    if side:
        return {
            **nothing,
            "method": mean.method.method,
            "remark": f"known only to lie {side} {written(mean.value, unit=mean.unit)}",
        }
    return {
        "measured": mean.value,
        "measured_u": mean.uncertainty_in_unit,
        "method": mean.method.method,
        "remark": "",
    }
